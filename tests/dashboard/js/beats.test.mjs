import assert from "node:assert/strict";
import { test } from "node:test";
import { kindOf, matrasBetween, strokesBetween } from "../../../dashboard/assets/beats.mjs";

// jhaptal, 10 matras of half a second; an alap before it; the last avartan is broken off after 4 matras
const jhaptal = {
  vibhags: [1, 3, 6, 8],
  marks: [{ matra: 1, kind: "sam" }, { matra: 3, kind: "tali" }, { matra: 6, kind: "khali" }, { matra: 8, kind: "tali" }],
};
const evenly = (from, columns, step) => Array.from({ length: columns + 1 }, (_, i) => from + i * step);
const data = {
  talas: { jhaptal },
  stretches: [{ tala: null }, { tala: "jhaptal" }],
  rows: [
    { stretch: 0, first: 1, t: evenly(0, 2, 5) },
    { stretch: 1, first: 8, t: evenly(10, 3, 0.5) },
    { stretch: 1, first: 1, t: evenly(11.5, 10, 0.5) },
    { stretch: 1, first: 1, t: evenly(16.5, 4, 0.5) },
  ],
};
const thekas = { jhaptal: [[0, "rings-sur", 1], [2.5, "none-dead", 0.6], [7, "none-rim", 0.85]] };

test("sam, khali, the other vibhags and plain matras are told apart", () => {
  assert.deepEqual([1, 2, 3, 6, 7, 8].map((matra) => kindOf(jhaptal, matra)), ["sam", "matra", "tali", "khali", "matra", "tali"]);
});

test("where sam is khali, as in rupak, it is sam", () => {
  assert.equal(kindOf({ vibhags: [1, 4, 6], marks: [{ matra: 1, kind: "khali" }] }, 1), "sam");
});

test("every matra of the grid is struck once, none in an alap", () => {
  const all = matrasBetween(data, 0, 100);
  assert.equal(all.length, 17);
  assert.deepEqual(all.slice(0, 4).map(({ time_s, kind }) => [time_s, kind]), [[10, "tali"], [10.5, "matra"], [11, "matra"], [11.5, "sam"]]);
});

test("stretches laid end to end have every beat once, wherever they are cut", () => {
  const whole = matrasBetween(data, 9, 19);
  for (const cut of [11.5, 11.4999, 12.25, 16.5]) {
    assert.deepEqual([...matrasBetween(data, 9, cut), ...matrasBetween(data, cut, 19)], whole, String(cut));
  }
  const struck = strokesBetween(data, thekas, 9, 19);
  for (const cut of [11.5, 12.75, 15]) {
    assert.deepEqual([...strokesBetween(data, thekas, 9, cut), ...strokesBetween(data, thekas, cut, 19)], struck, String(cut));
  }
});

test("a loop from sam to sam has its first sam and not the one it ends on", () => {
  const kinds = matrasBetween(data, 11.5, 16.5).map(({ kind }) => kind);
  assert.equal(kinds.length, 10);
  assert.equal(kinds.filter((kind) => kind === "sam").length, 1);
});

test("the theka comes between matras too, follows the row it is in, and stops where an avartan breaks off", () => {
  assert.deepEqual(strokesBetween(data, thekas, 0, 100), [
    { time_s: 10, sound: "none-rim", level: 0.85 },
    { time_s: 11.5, sound: "rings-sur", level: 1 },
    { time_s: 12.75, sound: "none-dead", level: 0.6 },
    { time_s: 15, sound: "none-rim", level: 0.85 },
    { time_s: 16.5, sound: "rings-sur", level: 1 },
    { time_s: 17.75, sound: "none-dead", level: 0.6 },
  ]);
});

test("without a theka, or before the first row, nothing is struck", () => {
  assert.deepEqual(strokesBetween(data, {}, 0, 100), []);
  assert.deepEqual(matrasBetween({ ...data, rows: data.rows.slice(1) }, 0, 9), []);
  assert.deepEqual(matrasBetween({ ...data, rows: [] }, 0, 9), []);
});
