// The marking panel's fields: keys write times into them, and what they hold stands as flags on the rows, to be dragged and
// nudged. Each step can be taken back before anything is saved.
import { field, heard, written } from "../echoes.mjs";
import { fromFields, step, toFields } from "../marking.mjs";
import { back, forth, noSteps, stepped } from "../steps.mjs";
import { countIn } from "./counting.mjs";
import { byId, desk, on, say, tell } from "./desk.mjs";
import { setFlags } from "./flags.mjs";
import { bind } from "./keyboard.mjs";
import { canEdit } from "./marked.mjs";
import { now, sound } from "./player.mjs";

const FIELDS = { sams: "mark-sams", starts: ["mark-start-1", "mark-start-2", "mark-start-3"], landing: "mark-landing" };
const TIMES = [FIELDS.sams, ...FIELDS.starts, FIELDS.landing];
const WRITTEN = ["mark-palla", "mark-dam", "mark-start", "mark-target", "mark-by"];
export const USUAL = { "mark-target": "1" };

let steps = noSteps();
let times = new Map(); // id of a field of times -> what it holds, see echoes.mjs

const canMark = () => canEdit() && sound() !== null;
const value = (id) => (times.has(id) ? times.get(id).text : (byId(id)?.value ?? ""));

function readFields() {
  return fromFields({ sams: value(FIELDS.sams), starts: FIELDS.starts.map(value), landing: value(FIELDS.landing) });
}

function set(id, text) {
  if (times.has(id)) times.set(id, written(times.get(id), text));
  byId(id).value = text; // at once; Dash shows what it is told only with its next drawing
  window.dash_clientside.set_props(id, { value: text });
}

function writeFields(state) {
  const fields = toFields(state);
  set(FIELDS.sams, fields.sams);
  FIELDS.starts.forEach((id, i) => set(id, fields.starts[i]));
  set(FIELDS.landing, fields.landing);
  shown();
}

function take(before, state) {
  steps = stepped(steps, before);
  writeFields(state);
}

function mark(key, ago_s) {
  const before = readFields();
  const { state, say: line } = step(before, key, now(ago_s));
  say(line);
  if (state !== before) take(before, state);
}

// Take the last mark back that is not saved, or bring it back; answers with whether there was one.
export const unmark = () => go(back, "Taken back: what was marked last and is not saved.");
export const remark = () => go(forth, "Marked again, not saved.");

function go(way, words) {
  const gone = way(steps, readFields());
  if (gone === null) return false;
  steps = gone.steps;
  writeFields(gone.state);
  say(words);
  return true;
}

// What was marked is saved: it is taken back by undoing the edit from now on.
export const settle = () => (steps = noSteps());

// What the fields hold, by id; and the reverse.
export const fieldTexts = () => Object.fromEntries([...TIMES, ...WRITTEN].map((id) => [id, value(id)]));

export function putTexts(texts) {
  for (const [id, text] of Object.entries(texts)) if (byId(id) !== null) set(id, text);
  shown();
}

// Dash tells the values of the fields of times, in their order, some time after they are written.
export function changed(told) {
  const before = TIMES.map(value);
  TIMES.forEach((id, i) => times.set(id, heard(times.get(id) ?? field(""), told[i] ?? "")));
  if (TIMES.some((id, i) => value(id) !== before[i])) shown();
}

function shown() {
  flagsOf(readFields());
  count();
  tell("marked");
}

function flagsOf({ sams, starts, landing }) {
  const moved = (change) => (time_s) => {
    const before = readFields();
    take(before, { ...before, ...change(before, time_s) });
  };
  const put = (list, i, time_s) => list.map((each, place) => (place === i ? time_s : each));
  setFlags("marks", [
    ...sams.map((time_s, i) => ({ id: `sam ${i}`, time_s, kind: "sam", text: "sam", move: moved((before, to_s) => ({ sams: put(before.sams, i, to_s) })) })),
    ...starts.map((time_s, i) => ({ id: `palla ${i}`, time_s, kind: "palla", text: `palla ${i + 1}`, move: moved((before, to_s) => ({ starts: put(before.starts, i, to_s) })) })),
    ...(landing === null ? [] : [{ id: "landing", time_s: landing, kind: "landing", text: "lands", move: moved((_before, to_s) => ({ landing: to_s })) }]),
  ]);
}

function count() {
  if (!canEdit()) return;
  const [first, second, third] = FIELDS.starts.map(value);
  const rule = document.querySelector("#mark-rule input:checked")?.value ?? "";
  countIn("told-paper", {
    of: "tihai", first, second, third, landing: value(FIELDS.landing), palla: value("mark-palla"), dam: value("mark-dam"),
    start: value("mark-start"), target: value("mark-target"), rule,
  });
}

// Save what is marked: the tihai once it has a landing, else the sams.
function save() {
  const { sams, landing } = readFields();
  if (landing === null && sams.length === 0) return say("Nothing is waiting to be saved.");
  byId(landing === null ? "save-sams" : "save-tihai").click();
}

on("opened", ({ again }) => {
  if (!again) settle();
  if (!canEdit()) return;
  if (!again) times = new Map(TIMES.map((id) => [id, field(byId(id).value)]));
  byId("marking").addEventListener("input", ({ target }) => {
    if (!target.id.startsWith("mark-") && target.closest("#mark-rule") === null) return;
    if (times.has(target.id)) times.set(target.id, written(times.get(target.id), target.value));
    flagsOf(readFields());
    count();
  }, { signal: desk.signal });
  shown();
});

bind("Mark", [
  { key: "s", words: "sam is here", act: mark, when: canMark },
  { key: "p", words: "a palla begins here (three times)", act: mark, when: canMark },
  { key: "l", words: "the tihai lands here", act: mark, when: canMark },
  { key: "Enter", words: "save what is marked", act: save, when: canEdit },
  { key: "Escape", words: "drop what is marked and not saved", act: mark, when: canMark },
]);
