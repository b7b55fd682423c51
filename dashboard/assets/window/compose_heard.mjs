// The opened piece drawn and heard: its run through the cycles with a cursor, its settings, and the buttons that play.
import { placeSaid } from "../hear.mjs";
import { drawnRun, unpacked } from "../run.mjs";
import { byId, isHere, page, say, write } from "./compose_page.mjs";
import { addressPlaying, adjust, listen, play, prepare, stop } from "./hearing.mjs";

export const SETTINGS = ["laya", "sa", "theka"];
const USUAL_LAYA = 120;

let drawing = null; // {region, width, spotOf, cursor}

// A piece has been opened: draw it, and fetch what it sounds like. What was heard before goes on as the new one.
export async function opening() {
  draw();
  const button = byId("sound");
  if (button === null) return stop();
  if (addressPlaying() !== null && addressPlaying() !== button.dataset.score) await hear(button.dataset.score);
  prepare(button.dataset.score, settings()).then(tellScore, () => {});
}

export function toggle(button) {
  if (addressPlaying() === button.dataset.score) stop();
  else hear(button.dataset.score);
}

export const adjusted = () => adjust(settings());

export function markHeard() {
  for (const button of page().querySelectorAll(".hear")) {
    button.setAttribute("aria-pressed", String(button.dataset.score === addressPlaying()));
  }
}

async function hear(address) {
  try {
    await play(address, settings());
  } catch (error) {
    const heldBack = "The browser holds the sound back: press the button once more.";
    say(error.message === "held back" ? heldBack : `It cannot be heard: ${error.message}`);
  }
  markHeard();
}

function settings() {
  const laya = Number(byId("hear-laya")?.value);
  const theka = page().querySelector("input[name=theka]");
  return {
    laya: laya >= 20 && laya <= 480 ? laya : USUAL_LAYA,
    sa: byId("hear-sa")?.value ?? "4",
    theka: theka === null || theka.checked,
  };
}

function tellScore(score) {
  const told = [];
  if (score.ticked) told.push("The theka of this tala is not transcribed: its matras are ticked.");
  if (score.plain.length > 0) told.push(`Not in the table of bols, heard as a plain stroke: ${score.plain.join(", ")}.`);
  write("heard-note", told.join(" "));
}

function draw() {
  const region = byId("run");
  if (region === null) return void (drawing = null);
  const width = region.clientWidth;
  const { markup, spotOf } = drawnRun(unpacked(JSON.parse(region.dataset.run)), width);
  region.innerHTML = markup;
  const cursor = Object.assign(document.createElement("div"), { className: "cursor", hidden: true });
  region.append(cursor);
  drawing = { region, width, spotOf, cursor };
}

function moveCursor(place) {
  if (drawing === null) return;
  const isOpened = addressPlaying() !== null && addressPlaying() === byId("sound")?.dataset.score;
  const spot = isOpened && place !== null ? drawing.spotOf(place.run) : null;
  drawing.cursor.hidden = spot === null;
  if (spot === null) return;
  drawing.cursor.style.height = `${spot.height}px`;
  drawing.cursor.style.transform = `translate(${spot.left}px, ${spot.top}px)`;
}

let heardBefore = null;

listen(({ playing, place }) => {
  if (!isHere()) return playing ? stop() : undefined;
  if (addressPlaying() !== heardBefore) markHeard();
  heardBefore = addressPlaying();
  moveCursor(place);
  const said = place === null ? "" : placeSaid(place);
  if (byId("heard") !== null && byId("heard").textContent !== said) write("heard", said);
});
addEventListener("resize", () => {
  if (isHere() && drawing?.region.isConnected && drawing.region.clientWidth !== drawing.width) draw();
});
