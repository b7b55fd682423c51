// What stands over the lines at some time: the cursor, flags for what is not saved yet, the selection.
//
// The cursor follows the sound; the page scrolls along with it unless that is switched off, or somebody scrolls by hand.
import { locate } from "../fold.mjs";
import { placeInWords } from "../sheet.mjs";
import { byId, desk, isOpen, on, tell, write } from "./desk.mjs";
import { bring, lineElement, sheet, spans, spotOf } from "./folded.mjs";
import { bind } from "./keyboard.mjs";
import { isPlaying, now, seek, sound } from "./player.mjs";

const HANDS_OFF_MS = 4000; // after scrolling by hand the page does not scroll by itself for so long

let handsOff = -Infinity;
let follows = true;
let silent_s = 0; // the place looked at, of a recording without sound
let flags = [];
let sounding = -1;
const made = (className) => Object.assign(document.createElement("div"), { className });
const layers = { ghosts: made("ghosts"), selected: made("selected"), cursor: made("cursor") };

export const here = () => (sound() === null ? silent_s : now());

// Go to a time: the sound, or without one the cursor alone.
export function go(time_s) {
  if (sound() !== null) return seek(time_s);
  silent_s = Math.min(Math.max(time_s, 0), desk.data.duration_s);
  bring(silent_s);
  tell("moved", silent_s);
}

on("opened", ({ again }) => {
  const { data, region, signal } = desk;
  for (const kind of ["wheel", "touchmove", "pointerdown"]) {
    region.addEventListener(kind, () => (handsOff = performance.now()), { signal, passive: true });
  }
  byId("follow")?.addEventListener("click", toggleFollowing, { signal });
  if (again) return;
  silent_s = data.at_s ?? 0;
  lineElement(sounding)?.classList.remove("sounding"); // as laid out a moment ago, where the sound stood then
  sounding = -1;
  if (data.at_s !== null && sound() !== null) sound().currentTime = data.at_s;
  if (data.at_s !== null) bring(data.at_s);
  if (sound() === null) tell("moved", silent_s);
  else moveCursor(here());
});
on("moved", moveCursor);
on("laid", () => {
  sheet().append(...Object.values(layers));
  sounding = -1;
  drawFlags();
  drawSelection();
  moveCursor(here());
});
on("revealed", () => {
  drawSelection();
  lineElement(sounding)?.classList.add("sounding");
});
on("selected", drawSelection);
on("playing", (isOn) => isOn && follows && bring(here(), true));

function moveCursor(time_s) {
  if (!isOpen()) return;
  const spot = spotOf(time_s);
  write("place", placeInWords(desk.data, locate(desk.data.rows, time_s)));
  layers.cursor.hidden = spot === null;
  if (spot === null) return;
  if (spot.index !== sounding) {
    lineElement(sounding)?.classList.remove("sounding");
    lineElement(spot.index)?.classList.add("sounding");
    layers.cursor.style.height = `${spot.height}px`;
    sounding = spot.index;
    if (isPlaying() && follows && performance.now() - handsOff > HANDS_OFF_MS) bring(time_s, true);
  }
  layers.cursor.style.transform = `translate(${spot.left}px, ${spot.top}px)`;
}

function toggleFollowing() {
  follows = !follows;
  byId("follow")?.setAttribute("aria-pressed", String(follows));
  handsOff = -Infinity;
  if (follows) bring(here(), true);
}

// Show flags for what is marked and not saved: [{time_s, kind, text}], kind being "sam", "palla" or "landing".
export function showFlags(shown) {
  flags = shown;
  if (isOpen()) drawFlags();
}

function drawFlags() {
  layers.ghosts.replaceChildren(...flags.map(flag).filter(Boolean));
}

function flag({ time_s, kind, text }) {
  const spot = spotOf(time_s);
  if (spot === null) return null;
  const element = document.createElement("span");
  element.className = `ghost ${kind}`;
  element.textContent = text;
  place(element, spot);
  return element;
}

function drawSelection() {
  const { selection } = desk;
  byId("unselect")?.toggleAttribute("hidden", selection === null);
  const pieces = selection === null ? [] : spans(selection.from_s, selection.to_s);
  layers.selected.replaceChildren(...pieces.map((piece) => {
    const element = made("selected-piece");
    place(element, piece);
    element.style.width = `${Math.max(piece.width, 1)}px`;
    return element;
  }));
}

function place(element, { left, top, height }) {
  Object.assign(element.style, { left: `${left}px`, top: `${top}px`, height: `${height}px` });
}

bind("Go", [{ key: "f", words: "follow the sound, or stay", act: toggleFollowing, when: () => byId("follow") !== null }]);
