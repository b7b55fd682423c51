// The folded page in its region: rows drawn as they come into view, the cursor on them, flags for what is not saved yet.
import { locate, stepColumns, stepRows, timeAt } from "../fold.mjs";
import { columnWidth, rowSvg, toColumns } from "../rows.mjs";
import { bodyWidth, cursorPx, placeInWords, sheetMarkup, stretchOf, talaOf } from "../sheet.mjs";
import { desk, isOpen, on, write } from "./desk.mjs";
import { bind } from "./keyboard.mjs";
import { isPlaying, now, seek, sound } from "./player.mjs";

const HANDS_OFF_MS = 4000; // after scrolling by hand the page does not scroll by itself for so long

let view = null; // {width, cursor, frames, row, observer}
let handsOff = -Infinity;
let flags = [];

on("opened", ({ again }) => {
  const { data, region, signal } = desk;
  const kept = again ? region.scrollTop : null;
  view = { width: 0, row: -1 };
  const resize = new ResizeObserver(lay);
  resize.observe(region);
  signal.addEventListener("abort", () => resize.disconnect());
  region.addEventListener("click", seekToClick, { signal });
  for (const kind of ["wheel", "touchmove", "pointerdown"]) {
    region.addEventListener(kind, () => (handsOff = performance.now()), { signal, passive: true });
  }
  lay();
  if (kept !== null) region.scrollTop = kept;
  else if (data.at_s !== null && data.at_s !== undefined) begin(data.at_s);
});

on("moved", moveCursor);

function begin(time_s) {
  if (sound()) sound().currentTime = time_s;
  const place = locate(desk.data.rows, time_s);
  if (place !== null) keepInView(place.row, true);
  moveCursor(time_s);
}

// Lay out the sheet for the width there is; rows are drawn as they come into view.
function lay() {
  const { region, data, signal } = desk;
  const width = region.clientWidth;
  if (width === view.width || width === 0) return;
  view.width = width;
  region.innerHTML = `<div class="sheet">${sheetMarkup(data, width)}<div class="ghosts"></div><div class="cursor" hidden></div></div>`;
  view.cursor = region.querySelector(".cursor");
  view.frames = [...region.querySelectorAll(".avartan")];
  view.observer?.disconnect();
  const observer = new IntersectionObserver(
    (entries) => entries.filter((entry) => entry.isIntersecting).forEach((entry) => drawRow(entry.target)),
    { root: region.scrollHeight > region.clientHeight + 1 ? region : null, rootMargin: "600px" },
  );
  view.frames.forEach((frame) => observer.observe(frame));
  signal.addEventListener("abort", () => observer.disconnect());
  view.observer = observer;
  view.row = -1;
  drawFlags();
  moveCursor(now());
}

function drawRow(frame) {
  view.observer.unobserve(frame);
  const row = desk.data.rows[Number(frame.dataset.row)];
  const stretch = stretchOf(desk.data, row);
  frame.querySelector(".avartan-body").innerHTML = rowSvg(row, stretch, talaOf(desk.data, stretch), bodyWidth(view.width));
}

function seekToClick(event) {
  const body = event.target.closest(".avartan-body");
  if (!body || event.target.closest("a")) return;
  const index = Number(body.parentElement.dataset.row);
  const { columns } = stretchOf(desk.data, desk.data.rows[index]);
  const px = event.clientX - body.getBoundingClientRect().left;
  seek(timeAt(desk.data.rows, index, toColumns(px, columnWidth(columns, bodyWidth(view.width)))));
}

function moveCursor(time_s) {
  const { data } = desk;
  const { cursor, frames } = view;
  const place = locate(data.rows, time_s);
  write("place", placeInWords(data, place));
  cursor.hidden = place === null;
  if (place === null) return;
  const body = frames[place.row].lastElementChild;
  if (place.row !== view.row) {
    frames[view.row]?.classList.remove("sounding");
    frames[place.row].classList.add("sounding");
    cursor.style.height = `${frames[place.row].offsetHeight}px`;
    view.row = place.row;
    if (isPlaying()) keepInView(place.row, false);
  }
  const left = body.offsetLeft + cursorPx(place.x, stretchOf(data, data.rows[place.row]), view.width);
  cursor.style.transform = `translate(${left}px, ${frames[place.row].offsetTop}px)`;
}

function keepInView(row, always) {
  if (!always && performance.now() - handsOff < HANDS_OFF_MS) return;
  const { region } = desk;
  const frame = view.frames[row];
  const room = region.clientHeight;
  if (region.scrollHeight <= room + 1) return;
  if (frame.offsetTop < region.scrollTop + 90 || frame.offsetTop + frame.offsetHeight > region.scrollTop + room) {
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    region.scrollTo({ top: frame.offsetTop - room / 3, behavior: still || always ? "auto" : "smooth" });
  }
}

// Show flags for what is marked and not saved: [{time_s, kind, text}], kind being "sam", "palla" or "landing".
export function showFlags(shown) {
  flags = shown;
  if (isOpen()) drawFlags();
}

function drawFlags() {
  desk.region.querySelector(".ghosts")?.replaceChildren(...flags.map(flag).filter(Boolean));
}

function flag({ time_s, kind, text }) {
  const place = locate(desk.data.rows, time_s);
  if (place === null) return null;
  const frame = view.frames[place.row];
  const element = document.createElement("span");
  element.className = `ghost ${kind}`;
  element.textContent = text;
  const left = frame.lastElementChild.offsetLeft + cursorPx(place.x, stretchOf(desk.data, desk.data.rows[place.row]), view.width);
  element.style.cssText = `left:${left}px;top:${frame.offsetTop}px;height:${frame.offsetHeight}px`;
  return element;
}

const go = (step, count) => () => seek(step(desk.data.rows, now(), count));
const heard = () => sound() !== null;
bind("Go", [
  { key: "ArrowLeft", words: "a matra back", act: go(stepColumns, -1), when: heard },
  { key: "ArrowRight", words: "a matra on", act: go(stepColumns, 1), when: heard },
  { key: "Shift+ArrowLeft", words: "an avartan back", act: go(stepRows, -1), when: heard },
  { key: "Shift+ArrowRight", words: "an avartan on", act: go(stepRows, 1), when: heard },
]);
