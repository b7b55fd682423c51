// What sounds of a composed piece, and when.
import assert from "node:assert/strict";
import { test } from "node:test";
import { due, loopOf, placeAt, placeSaid, soundsOf } from "../../../dashboard/assets/hear.mjs";

// four matras a cycle; a lead-in, then three strokes of which the last lands on the sam that begins the loop again
const score = {
  matras: 8,
  avartan: 4,
  lead_in: 4,
  events: [[4, "ti", 0.8, 1], [5.5, "ta", 0.8, 1], [8, "dha", 1, 1]],
  theka: [[0, "dha", 1], [2, "na", 0.7]],
};

test("a loop holds the theka of every avartan and the strokes of the piece, in order", () => {
  const loop = loopOf(score);
  assert.deepEqual(loop.map(({ x }) => x), [0, 2, 4, 4, 5.5, 6, 8]);
  assert.deepEqual(loop.filter(({ part }) => part === "theka").map(({ x }) => x), [0, 2, 4, 6]);
});

test("the landing stroke comes with the sam that begins the loop again, and only once it was played", () => {
  const at = (from, to) => due(loopOf(score), score.matras, from, to).map(({ x, sound, part }) => `${x} ${sound} ${part}`);
  assert.deepEqual(at(0, 2), ["0 dha theka"]);
  assert.deepEqual(at(8, 9).sort(), ["8 dha piece", "8 dha theka"]);
  assert.deepEqual(at(16, 17).sort(), ["16 dha piece", "16 dha theka"]);
});

test("stretches laid end to end have every sound once, whatever their lengths", () => {
  const loop = loopOf(score);
  const whole = due(loop, score.matras, 0, 40).map(({ x, sound }) => `${x} ${sound}`);
  for (const step of [0.31, 0.5, 1, 3, 7.9, 8, 9]) {
    const pieces = [];
    for (let from = 0; from < 40; from += step) pieces.push(...due(loop, score.matras, from, Math.min(from + step, 40)));
    assert.deepEqual(pieces.map(({ x, sound }) => `${x} ${sound}`), whole, `in steps of ${step}`);
  }
});

test("every sound is asked for once", () => {
  assert.deepEqual(soundsOf(score).sort(), ["dha", "na", "ta", "ti"]);
});

test("a place is told from the lead-in on, and again in every round", () => {
  assert.equal(placeSaid(placeAt(score, 0)), "lead-in, matra 1");
  assert.equal(placeSaid(placeAt(score, 3.99)), "lead-in, matra 4");
  assert.equal(placeSaid(placeAt(score, 4)), "avartan 1, matra 1");
  assert.equal(placeSaid(placeAt(score, 6.5)), "avartan 1, matra 3");
  assert.equal(placeSaid(placeAt(score, 8)), "lead-in, matra 1");
  assert.equal(placeAt(score, 13).run, 1);
});
