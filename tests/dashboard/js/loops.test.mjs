import assert from "node:assert/strict";
import { test } from "node:test";
import {
  avartanAt, endInWords, longer, nearestMatra, nearestPassage, nudged, tihaiLoop, withEnd,
} from "../../../dashboard/assets/loops.mjs";

// rupak at half a second a matra: avartans at 4, 7.5, 11; an alap before
const evenly = (from, columns, step) => Array.from({ length: columns + 1 }, (_, i) => from + i * step);
const avartan = (label, from) => ({ stretch: 1, label, first: 1, t: evenly(from, 7, 0.5) });
const data = {
  duration_s: 15,
  stretches: [{ tala: null }, { tala: "rupak" }],
  rows: [{ stretch: 0, label: "", first: 1, t: [0, 5] }, avartan("1", 4), avartan("2", 7.5), avartan("3", 11)],
};

test("an avartan is looped from sam to sam", () => {
  assert.deepEqual(avartanAt(data, 9), { from_s: 7.5, to_s: 11, words: "avartan 2" });
});

test("where there is no tala the row is looped, up to the next", () => {
  assert.deepEqual(avartanAt(data, 1), { from_s: 0, to_s: 4, words: "" });
  assert.equal(avartanAt(data, 99), null);
});

test("asked for again the loop is an avartan longer, until there is none left", () => {
  const two = longer(data, avartanAt(data, 9));
  assert.deepEqual(two, { from_s: 7.5, to_s: 14.5, words: "avartan 2 to 3" });
  assert.deepEqual(longer(data, two), two);
});

test("the passage that sounds is chosen, else the one before, else the first", () => {
  const passages = [{ from_s: 2, to_s: 4 }, { from_s: 3, to_s: 5 }, { from_s: 9, to_s: 10 }];
  assert.equal(nearestPassage(passages, 4.5), passages[1]);
  assert.equal(nearestPassage(passages, 7), passages[1]);
  assert.equal(nearestPassage(passages, 0), passages[0]);
  assert.equal(nearestPassage([], 0), null);
});

test("a tihai is looped from its first palla to the first matra half a second after its landing", () => {
  assert.deepEqual(tihaiLoop(data, { from_s: 4, to_s: 11.02, words: "tihai t01" }), { from_s: 4, to_s: 12, words: "tihai t01" });
  assert.equal(tihaiLoop(data, { from_s: 4, to_s: 10.98, words: "" }).to_s, 11.5);
  assert.equal(tihaiLoop(data, { from_s: 11, to_s: 14.4, words: "" }).to_s, 14.9); // no matra follows
});

test("an end that is put somewhere lies on the nearest matra; there is a loop afterwards even if there was none", () => {
  assert.equal(nearestMatra(data, 8.7), 8.5);
  assert.deepEqual(withEnd(data, null, "from_s", 8.5), { from_s: 8.5, to_s: 11, words: "" });
  assert.deepEqual(withEnd(data, null, "to_s", 8.5), { from_s: 7.5, to_s: 8.5, words: "" });
  assert.deepEqual(withEnd(data, { from_s: 4, to_s: 11 }, "to_s", 8.5), { from_s: 4, to_s: 8.5, words: "" });
});

test("ends never cross: the other one moves along", () => {
  assert.deepEqual(withEnd(data, { from_s: 4, to_s: 6 }, "from_s", 9), { from_s: 9, to_s: 11, words: "" });
  assert.deepEqual(withEnd(data, { from_s: 9, to_s: 11 }, "to_s", 8), { from_s: 7, to_s: 8, words: "" });
});

test("ends move by matras and stop before the loop is nothing", () => {
  const loop = { from_s: 7.5, to_s: 8.5, words: "" };
  assert.equal(nudged(data, loop, "to_s", 1).to_s, 9);
  assert.equal(nudged(data, loop, "from_s", -1).from_s, 7);
  const shortest = nudged(data, loop, "from_s", 1);
  assert.equal(shortest.from_s, 8);
  assert.equal(nudged(data, shortest, "from_s", 1), shortest);
});

test("an end is told by avartan and matra, sam by its name", () => {
  assert.equal(endInWords(data, 7.5), "avartan 2, sam");
  assert.equal(endInWords(data, 8.5), "avartan 2, matra 3");
  assert.equal(endInWords(data, 8.75), "avartan 2, matra 3.5");
  assert.equal(endInWords(data, 1), null);
});
