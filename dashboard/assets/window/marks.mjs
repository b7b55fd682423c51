// The marking panel's fields: keys write times into them, and what they hold stands as flags on the rows, to be dragged and
// nudged. Each step can be taken back before anything is saved.
import { fromFields, step, toFields } from "../marking.mjs";
import { back, forth, noSteps, stepped } from "../steps.mjs";
import { countIn } from "./counting.mjs";
import { byId, desk, on, say, tell } from "./desk.mjs";
import { setFlags } from "./flags.mjs";
import { bind } from "./keyboard.mjs";
import { canEdit } from "./marked.mjs";
import { now, sound } from "./player.mjs";

const FIELDS = { sams: "mark-sams", starts: ["mark-start-1", "mark-start-2", "mark-start-3"], landing: "mark-landing" };
const WRITTEN = ["mark-palla", "mark-dam", "mark-start", "mark-target", "mark-by"];
export const USUAL = { "mark-target": "1" };

let steps = noSteps();

const canMark = () => canEdit() && sound() !== null;
const value = (id) => byId(id)?.value ?? "";

function readFields() {
  return fromFields({ sams: value(FIELDS.sams), starts: FIELDS.starts.map(value), landing: value(FIELDS.landing) });
}

function set(id, text) {
  byId(id).value = text; // at once, for the next key; Dash shows what it is told only with its next drawing
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

function mark(key) {
  const before = readFields();
  const { state, say: line } = step(before, key, now());
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
export const fieldTexts = () => Object.fromEntries([FIELDS.sams, ...FIELDS.starts, FIELDS.landing, ...WRITTEN].map((id) => [id, value(id)]));

export function putTexts(texts) {
  for (const [id, text] of Object.entries(texts)) if (byId(id) !== null) set(id, text);
  shown();
}

// Dash tells the values of the fields, in the order sams, three starts, landing: what the fields themselves show may for a
// moment be older, while they are drawn anew.
export function changed([sams, first, second, third, landing]) {
  const state = fromFields({ sams, starts: [first, second, third], landing });
  flagsOf(state);
  count();
  tell("marked");
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
  byId("marking").addEventListener("input", ({ target }) => {
    if (!target.id.startsWith("mark-") && target.closest("#mark-rule") === null) return;
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
