// The marking panel's fields: keys write times into them, and what they hold stands as flags on the rows.
import { fromFields, step, toFields } from "../marking.mjs";
import { byId, on, say } from "./desk.mjs";
import { showFlags } from "./over.mjs";
import { bind } from "./keyboard.mjs";
import { now, sound } from "./player.mjs";

const FIELDS = { sams: "mark-sams", starts: ["mark-start-1", "mark-start-2", "mark-start-3"], landing: "mark-landing" };

const canMark = () => byId(FIELDS.sams) !== null && sound() !== null;

function readFields() {
  const value = (id) => byId(id)?.value ?? "";
  return fromFields({ sams: value(FIELDS.sams), starts: FIELDS.starts.map(value), landing: value(FIELDS.landing) });
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

function mark(key) {
  const before = readFields();
  const { state, say: line } = step(before, key, now());
  say(line);
  if (state !== before) writeFields(state);
}

// Dash tells the values of the fields, in the order sams, three starts, landing: what the fields themselves show may for a
// moment be older, while they are drawn anew.
export function changed([sams, first, second, third, landing]) {
  flagsOf(fromFields({ sams, starts: [first, second, third], landing }));
}

function flagsOf({ sams, starts, landing }) {
  showFlags([
    ...sams.map((time_s) => ({ time_s, kind: "sam", text: "sam" })),
    ...starts.map((time_s, i) => ({ time_s, kind: "palla", text: `palla ${i + 1}` })),
    ...(landing === null ? [] : [{ time_s: landing, kind: "landing", text: "lands" }]),
  ]);
}

on("opened", () => flagsOf(readFields()));

bind("Mark", [
  { key: "s", words: "sam is here", act: mark, when: canMark },
  { key: "p", words: "a palla begins here (three times)", act: mark, when: canMark },
  { key: "l", words: "the tihai lands here", act: mark, when: canMark },
  { key: "Escape", words: "drop what is marked and not saved", act: mark, when: canMark },
]);
