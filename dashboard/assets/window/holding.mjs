// The mark that is held: a sam or a flag, taken hold of by a click, by a drag or by a key, and moved by dragging, nudging or
// snapping to the nearest stroke. What is moved of a sam is written at once and the grid fitted again; a flag belongs to marks
// that are not saved, or to a row being edited.
import { formatClock } from "../clock.mjs";
import { lastAtOrBefore } from "../fold.mjs";
import { stretchOf } from "../lines.mjs";
import { byMatras, farWords, nearestTo, toTick } from "../nudging.mjs";
import { showConflict } from "./conflict.mjs";
import { byId, desk, on, say } from "./desk.mjs";
import { fetchJson } from "./fetching.mjs";
import { flagOf, movable, setFlags } from "./flags.mjs";
import { sheet, spotOf, timeOfEvent } from "./folded.mjs";
import { bind } from "./keyboard.mjs";
import { button } from "./making.mjs";
import { canEdit, listing, renew, samAt } from "./marked.mjs";
import { here } from "./over.mjs";
import { attempt, placeOf, write } from "./posting.mjs";

const DRAG_PX = 4; // less is a click
const NEAR_PX = 7;
const FINGER_PX = 15;
const SIGN_PX = 18; // height of a line's top in which its sam is taken hold of
const DRAGGED = {}; // the press was a drag
const AROUND_S = 60; // a key takes hold of what is within so much of the place looked at

let held = null; // {sam: true, time_s, key, from_s} or {source, id}
let drag = null; // {mark, x, y, index, per_px, to_s} since the pointer went down on a mark
let pressed = null; // the mark under the last press, so that the click that follows goes nowhere
let moving = false; // a sam is on its way to the server
let wanted = null; // where it is to go next

const isHeld = () => canEdit() && held !== null && heldTime() !== null;
const heldTime = () => (held?.sam ? held.time_s : (flagOf(held?.source, held?.id)?.time_s ?? null));
const clamp = (time_s) => toTick(Math.min(Math.max(time_s, 0), desk.data.duration_s));

const isSam = (row) => row.first === 1 && stretchOf(desk.data, row).tala !== null;
const samsNear = (time_s) => {
  const at = lastAtOrBefore(desk.data.rows, time_s, ({ t }) => t[0]);
  return desk.data.rows.slice(Math.max(at - 1, 0), at + 3).filter(isSam).map((row) => ({ sam: true, time_s: row.t[0] }));
};

export function hold(mark) {
  held = mark === null ? null : mark.sam ? { ...mark, from_s: mark.time_s, key: samAt(mark.time_s)?.key ?? "" } : mark;
  show();
  if (held !== null) say(`Holding ${nameOf(held)}: n m move it by 10 ms, j k by half a matra, v to the nearest stroke.`);
}

const nameOf = (mark) =>
  mark.sam ? `the sam at ${formatClock(mark.time_s, 3)}` : `${flagOf(mark.source, mark.id)?.text} at ${formatClock(heldTime(), 3)}`;

function show() {
  const time_s = heldTime();
  const is = time_s !== null;
  setFlags("held", is ? [{ id: "held", time_s, kind: "sam held", text: held.sam ? "sam, held" : "held" }] : []);
  const bar = byId("held-mark");
  bar?.toggleAttribute("hidden", !is);
  const words = byId("held-words");
  if (is && words) words.textContent = nameOf(held);
  byId("drop-held")?.toggleAttribute("hidden", !(held?.sam && held.key !== ""));
}

// Move what is held; a sam that was not marked is marked so. A run of nudges is undone in one step.
export function moveHeld(to_s, words = "", nudged = false) {
  if (heldTime() === null) return;
  const target = clamp(to_s);
  if (!held.sam) {
    const flag = flagOf(held.source, held.id);
    say(`${flag.text} at ${formatClock(target, 3)} (${words || farWords(flag.time_s, target)}).`);
    flag.move(target);
    show();
    return;
  }
  wanted = { target, words, nudged };
  held.time_s = target;
  show();
  if (!moving) sendSam();
}

async function sendSam() {
  moving = true;
  const mark = held;
  while (wanted !== null) {
    const { target, words, nudged } = wanted;
    wanted = null;
    try {
      const { said } = await write("sam", { key: mark.key, from_s: mark.key === "" ? null : mark.from_s, to_s: target, nudged });
      say(words === "" ? said : `${said} ${words}`);
      mark.from_s = target;
      await renew();
      mark.key = samAt(target)?.key ?? mark.key;
    } catch (error) {
      wanted = null;
      say(error.message.split("\n")[0]);
      mark.time_s = mark.from_s;
      if (error.conflict) {
        const mine = () => attempt("sam", { key: mark.key, to_s: target, keep: "mine" });
        showConflict(error.conflict, { mine, theirs: () => {} });
        held = null;
      }
      break;
    }
  }
  moving = false;
  show();
}

const nudge = (by_s) => moveHeld(heldTime() + by_s, "", true);
const nudgeAlong = (matras) => moveHeld(byMatras(desk.data.rows, heldTime(), matras), "", true);

async function snap() {
  const from_s = heldTime();
  try {
    const { content } = await fetchJson(`${placeOf("stroke")}?near_s=${from_s}`, { signal: desk.signal });
    const far = farWords(from_s, content.time_s);
    if (Math.abs(content.time_s - from_s) < 1e-4) return say("It is on the stroke already.");
    moveHeld(content.time_s, `Snapped to the nearest stroke, ${far}.`);
  } catch (error) {
    say(error.message);
  }
}

async function takeOut() {
  const { key } = held;
  held = null;
  const { revision } = listing();
  await attempt("take-out", { table: "sams", key, seen: revision }, (conflict) => showConflict(conflict, {}));
  show();
}

function holdNearest() {
  const near = [...movable(), ...samsNear(here())].filter(({ time_s }) => Math.abs(time_s - here()) < AROUND_S);
  const mark = nearestTo(near, here());
  if (mark === null) say("No mark is near.");
  else hold(mark);
}

// The mark under the pointer, or null.
function markAt(event) {
  const line = event.target.closest?.("#fold .avartan");
  if (!line || !canEdit()) return null;
  const box = sheet().getBoundingClientRect();
  const [x, y] = [event.clientX - box.left, event.clientY - box.top];
  const near = event.pointerType === "touch" ? FINGER_PX : NEAR_PX;
  const isAt = ({ time_s }, height) => {
    const spot = spotOf(time_s);
    return spot?.index === Number(line.dataset.line) && Math.abs(spot.left - x) <= near && y - spot.top <= height;
  };
  const time_s = timeOfEvent(event);
  return movable().find((flag) => isAt(flag, Infinity)) ?? (time_s === null ? null : (samsNear(time_s).find((sam) => isAt(sam, SIGN_PX)) ?? null));
}

function down(event) {
  drag = null;
  pressed = event.button === 0 && !event.shiftKey ? markAt(event) : null;
  if (pressed === null || event.pointerType === "touch") return; // a finger scrolls, and takes hold by a tap
  event.stopPropagation();
  const spot = spotOf(pressed.time_s);
  const row = desk.data.rows[Math.max(lastAtOrBefore(desk.data.rows, pressed.time_s, ({ t }) => t[0]), 0)];
  const step_s = (row.t.at(-1) - row.t[0]) / (row.t.length - 1) / 8;
  const other = spotOf(pressed.time_s + step_s);
  const per_px = other?.index === spot.index ? step_s / (other.left - spot.left) : 0.01;
  drag = { mark: pressed, x: event.clientX, y: event.clientY, index: spot.index, per_px, to_s: null };
}

function move(event) {
  if (drag === null) {
    if (event.buttons === 0) desk.region.classList.toggle("at-mark", markAt(event) !== null);
    return;
  }
  event.stopPropagation();
  if (drag.to_s === null && Math.hypot(event.clientX - drag.x, event.clientY - drag.y) < DRAG_PX) return;
  if (drag.to_s === null) {
    desk.region.setPointerCapture(event.pointerId);
    hold(drag.mark);
  }
  event.preventDefault();
  const element = document.elementFromPoint(event.clientX, event.clientY)?.closest("#fold .avartan");
  const same = !element || Number(element.dataset.line) === drag.index;
  const at_s = same ? drag.mark.time_s + (event.clientX - drag.x) * drag.per_px : timeOfEvent(event);
  if (at_s === null) return;
  drag.to_s = clamp(at_s);
  const text = `${formatClock(drag.to_s, 3)} (${farWords(drag.mark.time_s, drag.to_s)})`;
  setFlags("held", [{ id: "held", time_s: drag.to_s, kind: "held", text }]);
}

async function up(event) {
  const dropped = drag;
  drag = null;
  if (dropped === null || dropped.to_s === null) return;
  event.stopPropagation();
  pressed = DRAGGED;
  moveHeld(dropped.to_s);
  if (event.shiftKey) await snap();
}

function click(event) {
  const mark = pressed;
  pressed = null;
  if (mark === null) return;
  event.stopPropagation();
  event.preventDefault();
  if (mark !== DRAGGED) hold(mark);
}

on("opened", () => {
  const { region, signal } = desk;
  const listen = (kind, answer) => region.addEventListener(kind, answer, { signal, capture: true });
  listen("pointerdown", down);
  listen("pointermove", move);
  listen("pointerup", up);
  listen("pointercancel", () => (drag = null));
  listen("click", click);
  held = null;
  fillBar();
  show();
});
on("renewed", () => !moving && held?.sam && !samsNear(held.time_s).some(({ time_s }) => Math.abs(time_s - held.time_s) < 0.3) && hold(null));

function fillBar() {
  const by = (s) => () => nudge(s);
  const along = (matras) => () => nudgeAlong(matras);
  byId("held-buttons")?.replaceChildren(
    button("−½ matra", along(-0.5), { title: "Half a matra earlier (j)" }),
    button("−10", by(-0.01), { title: "10 ms earlier (n)" }),
    button("−1", by(-0.001), { title: "1 ms earlier (q)" }),
    button("+1 ms", by(0.001), { title: "1 ms later (w)" }),
    button("+10 ms", by(0.01), { title: "10 ms later (m)" }),
    button("+½ matra", along(0.5), { title: "Half a matra later (k)" }),
    button("To the nearest stroke", snap, { title: "Snap to the nearest stroke (v)" }),
    button("Take the sam out", takeOut, { id: "drop-held", title: "This sam is not marked any more (Delete)" }),
    button("Let go", () => hold(null), { title: "Hold it no longer (Escape)" }),
  );
}

const NUDGES_S = { n: -0.01, m: 0.01, q: -0.001, w: 0.001 };
bind("Correct", [
  { key: "y", words: "take hold of the mark nearest to the place", act: holdNearest, when: canEdit },
  { key: ["n", "m"], words: "the held mark 10 ms earlier, later", act: (key) => nudge(NUDGES_S[key]), when: isHeld },
  { key: ["q", "w"], words: "1 ms earlier, later", act: (key) => nudge(NUDGES_S[key]), when: isHeld },
  { key: ["j", "k"], words: "half a matra earlier, later", act: (key) => nudgeAlong(key === "j" ? -0.5 : 0.5), when: isHeld },
  { key: "v", words: "to the nearest stroke", act: snap, when: isHeld },
  { key: "Delete", words: "take the held sam out", act: takeOut, when: () => isHeld() && held.sam && held.key !== "" },
  { key: "Escape", words: "let the held mark go", act: () => hold(null), when: isHeld },
]);
