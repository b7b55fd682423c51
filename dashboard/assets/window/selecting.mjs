// Selecting a passage: drag over the lines, Shift and click for its other end, or `a` for the avartan that sounds.
import { locate } from "../fold.mjs";
import { byId, desk, on, select } from "./desk.mjs";
import { timeOfEvent } from "./folded.mjs";
import { bind } from "./keyboard.mjs";
import { go, here } from "./over.mjs";

const DRAG_PX = 5; // less is a click

let from = null; // {time_s, x, y, dragged} since the pointer went down
let other_s = null; // the end that stays when Shift is held

on("opened", () => {
  const { region, signal } = desk;
  const listen = (kind, answer) => region.addEventListener(kind, answer, { signal });
  listen("pointerdown", down);
  listen("pointermove", move);
  listen("pointerup", up);
  listen("pointercancel", () => (from = null));
  listen("click", click);
  byId("unselect")?.addEventListener("click", () => select(), { signal });
});

function down(event) {
  from = null;
  if (event.button !== 0 || event.pointerType === "touch" || event.shiftKey) return; // a finger scrolls
  const time_s = timeOfEvent(event);
  if (time_s !== null) from = { time_s, x: event.clientX, y: event.clientY, dragged: false };
}

function move(event) {
  if (from === null || (event.buttons & 1) === 0) return;
  from.dragged ||= Math.hypot(event.clientX - from.x, event.clientY - from.y) > DRAG_PX;
  const time_s = from.dragged ? timeOfEvent(event) : null;
  if (time_s === null) return;
  event.preventDefault();
  other_s = from.time_s;
  select(from.time_s, time_s);
}

function up(event) {
  if (from?.dragged) event.preventDefault();
}

function click(event) {
  const dragged = from?.dragged;
  from = null;
  if (dragged) return event.preventDefault(); // a drag that ends on a link does not follow it
  if (event.target.closest("a")) return;
  const time_s = timeOfEvent(event);
  if (time_s === null) return;
  if (!event.shiftKey) return go(time_s);
  const { selection } = desk;
  const stays_s = selection === null ? here() : [selection.from_s, selection.to_s].includes(other_s) ? other_s : selection.from_s;
  other_s = stays_s;
  select(stays_s, time_s);
}

// The avartan that sounds; when it is selected already, the next one too.
function selectAvartan() {
  const { data: { rows }, selection } = desk;
  const place = locate(rows, here());
  if (place === null) return;
  const own = [rows[place.row].t[0], rows[place.row].t.at(-1)];
  const grows = selection !== null && selection.from_s <= own[0] + 1e-6 && selection.to_s >= own[1] - 1e-6;
  const next = grows ? rows.find(({ t }) => t[0] >= selection.to_s - 1e-6) : undefined;
  if (next) select(selection.from_s, next.t.at(-1));
  else if (!grows) select(...own);
}

bind("Select", [
  { key: "a", words: "this avartan; once more: the next one too", act: selectAvartan },
  { key: "Escape", words: "nothing selected any more", act: () => select(), when: () => desk.selection !== null },
]);
