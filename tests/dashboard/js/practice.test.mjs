// A run of questions: the form's choices, the answer that is sent, the tally.
import assert from "node:assert/strict";
import { test } from "node:test";
import { answerOf, choicesOf, tallied, tallyWords } from "../../../dashboard/assets/practice.mjs";

test("boxes of one name that are ticked become one choice", () => {
  assert.deepEqual(choicesOf([["tala", "rupak"], ["kinds", "dam"], ["kinds", "start"], ["by", "after"]]), [
    ["tala", "rupak"], ["kinds", "dam,start"], ["by", "after"],
  ]);
});

test("what is typed counts before what is chosen on the cycle, and nothing is no answer", () => {
  assert.deepEqual(answerOf(" 5 1/2 ", "9"), { answer: "5 1/2" });
  assert.deepEqual(answerOf("", "9"), { place: "9" });
  assert.equal(answerOf(" ", null), null);
});

test("the tally counts what was answered, kind by kind", () => {
  const told = tallied([{ kind: "dam", right: true }, undefined, { kind: "start", right: false }, { kind: "dam", right: false }], 5);
  assert.deepEqual(told, {
    right: 1, answered: 3, count: 5,
    kinds: [{ kind: "dam", right: 1, answered: 2 }, { kind: "start", right: 0, answered: 1 }],
  });
  assert.equal(tallyWords(told), "1 of 3 right");
  assert.equal(tallyWords(tallied([], 5)), "");
});
