// The whole concert in a strip over the rows: what is in the window, where the sound is; a click, a drag or the arrow keys jump.
import { formatClock } from "../clock.mjs";
import { locate } from "../fold.mjs";
import { HEIGHT, overviewSvg, pxOfTime, timeOfPx } from "../overview.mjs";
import { placeInWords } from "../sheet.mjs";
import { byId, desk, isOpen, on } from "./desk.mjs";
import { bring, shown } from "./folded.mjs";
import { go, here } from "./over.mjs";

const STEP = 1 / 50; // of the concert, by an arrow key
const made = (className) => Object.assign(document.createElement("div"), { className });
const marks = { seen: made("seen"), now: made("now") };

const strip = () => byId("overview");

on("opened", () => {
  const element = strip();
  if (!element) return;
  const { signal } = desk;
  const resize = new ResizeObserver(draw);
  resize.observe(element);
  signal.addEventListener("abort", () => resize.disconnect());
  const jump = (event) => {
    if (event.type === "pointermove" && (event.buttons & 1) === 0) return;
    const { left, width } = element.getBoundingClientRect();
    goTo(timeOfPx(event.clientX - left, desk.data.duration_s, width));
  };
  element.addEventListener("pointerdown", (event) => (element.setPointerCapture(event.pointerId), jump(event)), { signal });
  element.addEventListener("pointermove", jump, { signal });
  element.addEventListener("keydown", pressed, { signal });
  draw();
});
on("renewed", draw);
on("moved", showNow);
on("revealed", showSeen);
on("laid", showSeen);

function goTo(time_s) {
  go(time_s);
  bring(time_s);
}

function pressed(event) {
  const { duration_s } = desk.data;
  const to = { ArrowLeft: -STEP, ArrowDown: -STEP, ArrowRight: STEP, ArrowUp: STEP, PageUp: 5 * STEP, PageDown: -5 * STEP }[event.key];
  const time_s = to !== undefined ? here() + to * duration_s : { Home: 0, End: duration_s }[event.key];
  if (time_s === undefined || event.shiftKey || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  event.stopPropagation();
  goTo(Math.min(Math.max(time_s, 0), duration_s));
}

function draw() {
  const element = strip();
  if (!element || !isOpen() || element.clientWidth === 0) return;
  element.style.height = `${HEIGHT}px`;
  element.innerHTML = overviewSvg(desk.data, element.clientWidth);
  element.append(marks.seen, marks.now);
  showSeen();
  showNow(here());
}

function showSeen() {
  const element = strip();
  if (!element || !isOpen()) return;
  const { from_s, to_s } = shown();
  const px = (time_s) => pxOfTime(time_s, desk.data.duration_s, element.clientWidth);
  Object.assign(marks.seen.style, { left: `${px(from_s)}px`, width: `${Math.max(px(to_s) - px(from_s), 3)}px` });
}

function showNow(time_s) {
  const element = strip();
  if (!element || !isOpen()) return;
  const { duration_s, rows } = desk.data;
  marks.now.style.transform = `translateX(${pxOfTime(time_s, duration_s, element.clientWidth)}px)`;
  const second = String(Math.floor(time_s));
  if (element.getAttribute("aria-valuenow") === second) return;
  element.setAttribute("aria-valuemax", String(Math.floor(duration_s)));
  element.setAttribute("aria-valuenow", second);
  element.setAttribute("aria-valuetext", `${formatClock(time_s, 0)}, ${placeInWords(desk.data, locate(rows, time_s)) || "outside the recording"}`);
}
