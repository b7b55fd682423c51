import assert from "node:assert/strict";
import { test } from "node:test";
import { emptyMarks, fromFields, step, toFields } from "../../../dashboard/assets/marking.mjs";

const press = (keys) => keys.reduce((state, [key, time_s]) => step(state, key, time_s).state, emptyMarks());

test("three pallas and a landing make a tihai", () => {
  const state = press([["p", 1], ["p", 3], ["p", 5], ["l", 7]]);
  assert.deepEqual(state, { sams: [], starts: [1, 3, 5], landing: 7 });
});

test("a sam can be marked in the midst of a tihai", () => {
  const state = press([["p", 1], ["s", 2], ["p", 3], ["p", 5], ["l", 7]]);
  assert.deepEqual(state.sams, [2]);
  assert.equal(state.landing, 7);
});

test("sams marked out of order are kept in order, and twice is once", () => {
  assert.deepEqual(press([["s", 9], ["s", 2], ["s", 2.2]]).sams, [2, 9]);
});

test("a landing before three pallas is refused and says how many there are", () => {
  const { state, say } = step(press([["p", 1]]), "l", 2);
  assert.equal(state.landing, null);
  assert.match(say, /1 of 3/);
});

test("a palla before the one before it is refused", () => {
  const { state, say } = step(press([["p", 5]]), "p", 4);
  assert.deepEqual(state.starts, [5]);
  assert.match(say, /before palla 1/);
});

test("a landing that does not come after the third palla is refused", () => {
  assert.equal(step(press([["p", 1], ["p", 3], ["p", 5]]), "l", 5).state.landing, null);
});

test("a fourth palla, or a new one before the old tihai is saved, is refused", () => {
  assert.deepEqual(press([["p", 1], ["p", 3], ["p", 5], ["p", 7]]).starts, [1, 3, 5]);
  assert.match(step(press([["p", 1], ["p", 3], ["p", 5], ["l", 7]]), "p", 9).say, /not saved/);
});

test("escape drops the tihai, then the sams, then says there is nothing", () => {
  let state = press([["s", 1], ["p", 2]]);
  state = step(state, "Escape", 0).state;
  assert.deepEqual([state.starts, state.sams], [[], [1]]);
  state = step(state, "Escape", 0).state;
  assert.deepEqual(state, emptyMarks());
  assert.match(step(state, "Escape", 0).say, /Nothing/);
});

test("a step never changes the state it was given", () => {
  const before = Object.freeze({ sams: Object.freeze([1]), starts: Object.freeze([2]), landing: null });
  for (const key of ["s", "p", "l", "Escape"]) step(before, key, 3);
});

test("the panel's fields and the state say the same, whichever was changed last", () => {
  const state = { sams: [1.5, 2.25], starts: [3, 4], landing: null };
  assert.deepEqual(fromFields(toFields(state)), state);
  assert.deepEqual(fromFields({ sams: "1:02, 70.5", starts: ["", "", ""], landing: "x" }), {
    sams: [62, 70.5], starts: [], landing: null,
  });
});
