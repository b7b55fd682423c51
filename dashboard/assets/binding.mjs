// The only module that touches the window: it binds the pure modules to the page, the player and the keyboard.
//
// `show(data)` is called by Dash whenever the data of a folded page arrives (dashboard/app.py); `ghosts()` whenever a field
// of the marking panel has changed. Everything that can be computed is computed in fold, rows, sheet, marking and clock.
import { formatClock } from "./clock.mjs";
import { locate, stepColumns, stepRows, timeAt } from "./fold.mjs";
import { fromFields, keyOf, step, toFields } from "./marking.mjs";
import { columnWidth, rowSvg, toColumns } from "./rows.mjs";
import { bodyWidth, cursorPx, placeInWords, sheetMarkup, stretchOf, talaOf } from "./sheet.mjs";

const FIELDS = { sams: "mark-sams", starts: ["mark-start-1", "mark-start-2", "mark-start-3"], landing: "mark-landing" };
const HANDS_OFF_MS = 4000; // after scrolling by hand the page does not scroll by itself for so long

const byId = (id) => document.getElementById(id);
const player = () => byId("player");
let page = null; // {data, width, sheet, cursor, drawn, row, abort, handsOff}
let help = false;

export function show(data) {
  const region = byId("fold");
  if (!data || !region) return "";
  const kept = page && page.data.slug === data.slug && page.region === region ? region.scrollTop : null;
  page?.abort.abort();
  page = { data, region, width: 0, row: -1, abort: new AbortController(), handsOff: 0 };
  const { signal } = page.abort;
  const resize = new ResizeObserver(() => lay());
  resize.observe(region);
  signal.addEventListener("abort", () => resize.disconnect());
  region.addEventListener("click", seekToClick, { signal });
  for (const kind of ["wheel", "touchmove", "pointerdown"]) {
    region.addEventListener(kind, () => (page.handsOff = performance.now()), { signal, passive: true });
  }
  lay();
  if (kept !== null) region.scrollTop = kept;
  else if (data.at_s !== null && data.at_s !== undefined) begin(data.at_s);
  bindPlayer(signal);
  return data.slug;
}

function begin(time_s) {
  const sound = player();
  if (sound) sound.currentTime = time_s;
  const place = locate(page.data.rows, time_s);
  if (place !== null) keepInView(place.row, true);
  moveCursor(time_s);
}

// Lay out the sheet for the width there is; rows are drawn as they come into view.
function lay() {
  const { region, data, abort } = page;
  const width = region.clientWidth;
  if (width === page.width || width === 0) return;
  page.width = width;
  region.innerHTML = `<div class="sheet">${sheetMarkup(data, width)}<div class="ghosts"></div><div class="cursor" hidden></div></div>`;
  page.cursor = region.querySelector(".cursor");
  page.frames = [...region.querySelectorAll(".avartan")];
  page.observer?.disconnect();
  page.observer = new IntersectionObserver(
    (entries) => entries.filter((entry) => entry.isIntersecting).forEach((entry) => drawRow(entry.target)),
    { root: region.scrollHeight > region.clientHeight + 1 ? region : null, rootMargin: "600px" },
  );
  page.frames.forEach((frame) => page.observer.observe(frame));
  abort.signal.addEventListener("abort", () => page.observer.disconnect());
  page.row = -1;
  ghosts();
  moveCursor(player()?.currentTime ?? 0);
}

function drawRow(frame) {
  page.observer.unobserve(frame);
  const row = page.data.rows[Number(frame.dataset.row)];
  const stretch = stretchOf(page.data, row);
  frame.querySelector(".avartan-body").innerHTML = rowSvg(row, stretch, talaOf(page.data, stretch), bodyWidth(page.width));
}

function seekToClick(event) {
  const body = event.target.closest(".avartan-body");
  if (!body || event.target.closest("a")) return;
  const index = Number(body.parentElement.dataset.row);
  const { columns } = stretchOf(page.data, page.data.rows[index]);
  const px = event.clientX - body.getBoundingClientRect().left;
  seek(timeAt(page.data.rows, index, toColumns(px, columnWidth(columns, bodyWidth(page.width)))));
}

function seek(time_s) {
  const sound = player();
  if (!sound) return;
  sound.currentTime = Math.max(time_s, 0);
  moveCursor(sound.currentTime);
}

function bindPlayer(signal) {
  const sound = player();
  const button = byId("play");
  if (!sound || !button) return;
  const showState = () => {
    button.dataset.playing = String(!sound.paused);
    button.setAttribute("aria-label", sound.paused ? "Play" : "Pause");
    button.setAttribute("aria-pressed", String(!sound.paused));
  };
  button.addEventListener("click", toggle, { signal });
  for (const kind of ["play", "pause", "ended"]) sound.addEventListener(kind, showState, { signal });
  sound.addEventListener("timeupdate", endPassage, { signal });
  sound.addEventListener("seeked", () => moveCursor(sound.currentTime), { signal });
  sound.addEventListener("loadedmetadata", () => moveCursor(sound.currentTime), { signal });
  sound.addEventListener("error", () => say("The sound cannot be played in this browser."), { signal });
  sound.addEventListener("play", () => requestAnimationFrame(run), { signal });
  showState();
}

function toggle() {
  const sound = player();
  if (!sound) return;
  const { passage } = page.data;
  if (!sound.paused) return sound.pause();
  const outside = passage && (sound.currentTime < passage.from_s || sound.currentTime >= passage.to_s - 0.05);
  if (outside) sound.currentTime = passage.from_s;
  sound.play().catch(() => say("The sound could not be started."));
}

function run() {
  const sound = player();
  if (!page || !sound || sound.paused) return;
  endPassage();
  moveCursor(sound.currentTime);
  requestAnimationFrame(run);
}

// Asked at every frame and at every report of the player: frames stop in a window that is not looked at.
function endPassage() {
  const sound = player();
  const passage = page?.data.passage;
  if (!passage || sound === null || sound.paused || sound.currentTime < passage.to_s) return;
  sound.pause();
  sound.currentTime = passage.to_s;
}

function moveCursor(time_s) {
  const { data, cursor, frames, width } = page;
  const place = locate(data.rows, time_s);
  write("clock", `${formatClock(time_s)} / ${formatClock(data.duration_s)}`);
  write("place", placeInWords(data, place));
  cursor.hidden = place === null;
  if (place === null) return;
  const body = frames[place.row].lastElementChild;
  if (place.row !== page.row) {
    page.frames[page.row]?.classList.remove("sounding");
    frames[place.row].classList.add("sounding");
    cursor.style.height = `${frames[place.row].offsetHeight}px`;
    page.row = place.row;
    if (!player()?.paused) keepInView(place.row, false);
  }
  const left = body.offsetLeft + cursorPx(place.x, stretchOf(data, data.rows[place.row]), width);
  cursor.style.transform = `translate(${left}px, ${frames[place.row].offsetTop}px)`;
}

function keepInView(row, always) {
  if (!always && performance.now() - page.handsOff < HANDS_OFF_MS) return;
  const { region, frames } = page;
  const top = frames[row].offsetTop;
  const room = region.clientHeight;
  if (region.scrollHeight <= room + 1) return;
  if (top < region.scrollTop + 90 || top + frames[row].offsetHeight > region.scrollTop + room) {
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    region.scrollTo({ top: top - room / 3, behavior: still || always ? "auto" : "smooth" });
  }
}

// What is marked and not saved, as flags on the rows. Dash tells the values of the fields, in the order sams, three
// starts, landing: what the fields themselves show may for a moment be older, while they are drawn anew.
export function ghosts(values = null) {
  const layer = page?.region.querySelector(".ghosts");
  if (!layer) return;
  const { sams, starts, landing } = values === null ? readFields() : fromValues(values.map((value) => value ?? ""));
  const flags = [
    ...sams.map((time_s) => [time_s, "sam", "sam"]),
    ...starts.map((time_s, i) => [time_s, "palla", `palla ${i + 1}`]),
    ...(landing === null ? [] : [[landing, "landing", "lands"]]),
  ];
  layer.replaceChildren(...flags.map(([time_s, kind, text]) => flag(time_s, kind, text)).filter(Boolean));
}

function flag(time_s, kind, text) {
  const place = locate(page.data.rows, time_s);
  if (place === null) return null;
  const frame = page.frames[place.row];
  const element = document.createElement("span");
  element.className = `ghost ${kind}`;
  element.textContent = text;
  const left = frame.lastElementChild.offsetLeft + cursorPx(place.x, stretchOf(page.data, page.data.rows[place.row]), page.width);
  element.style.cssText = `left:${left}px;top:${frame.offsetTop}px;height:${frame.offsetHeight}px`;
  return element;
}

function readFields() {
  const value = (id) => byId(id)?.value ?? "";
  return fromFields({ sams: value(FIELDS.sams), starts: FIELDS.starts.map(value), landing: value(FIELDS.landing), help });
}

function fromValues([sams, ...rest]) {
  return fromFields({ sams, starts: rest.slice(0, -1), landing: rest.at(-1), help });
}

function writeFields(state) {
  const fields = toFields(state);
  const set = (id, value) => {
    byId(id).value = value; // at once, for the next key; Dash shows what it is told only with its next drawing
    window.dash_clientside.set_props(id, { value });
  };
  set(FIELDS.sams, fields.sams);
  FIELDS.starts.forEach((id, i) => set(id, fields.starts[i]));
  set(FIELDS.landing, fields.landing);
}

const ACTS = {
  toggle,
  "matra back": () => seek(stepColumns(page.data.rows, player().currentTime, -1)),
  "matra on": () => seek(stepColumns(page.data.rows, player().currentTime, 1)),
  "avartan back": () => seek(stepRows(page.data.rows, player().currentTime, -1)),
  "avartan on": () => seek(stepRows(page.data.rows, player().currentTime, 1)),
};

function onKey(event) {
  if (!byId("fold") || !page || !player()) return;
  const focus = {
    typing: event.target.matches("input:not([type=radio]):not([type=checkbox]), textarea, select, [contenteditable=true]"),
    pressable: event.target.matches("button, a, summary, input"),
  };
  const key = keyOf(event, focus);
  if (key === null) return;
  const before = readFields();
  const marking = byId(FIELDS.sams) !== null;
  if (!marking && "splEscape".includes(key)) return;
  const { state, act, say: line } = step(before, key, player().currentTime);
  event.preventDefault();
  if (act !== null) ACTS[act]();
  if (line !== null) say(line);
  if (state === before) return;
  if (state.help !== help) showHelp(state.help);
  else writeFields(state);
}

function showHelp(open) {
  help = open;
  byId("keys")?.toggleAttribute("open", open);
}

function write(id, text) {
  const element = byId(id);
  if (element && element.textContent !== text) element.textContent = text;
}

const say = (line) => write("said", line);

document.addEventListener("keydown", onKey);
