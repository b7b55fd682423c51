import assert from "node:assert/strict";
import { test } from "node:test";
import { byMatras, farWords, nearestTo } from "../../../dashboard/assets/nudging.mjs";

// two avartans of four matras, at half a second and then at a second a matra
const ROWS = [{ first: 1, t: [10, 10.5, 11, 11.5, 12] }, { first: 1, t: [12, 13, 14, 15, 16] }];

test("half a matra is half of the matra in which the mark stands", () => {
  assert.equal(byMatras(ROWS, 10.5, 0.5), 10.75);
  assert.equal(byMatras(ROWS, 13, 0.5), 13.5);
  assert.equal(byMatras(ROWS, 13.5, -0.5), 13);
});

test("a mark goes over the end of an avartan with the laya of the next one", () => {
  assert.equal(byMatras(ROWS, 11.5, 1.5), 12.5);
  assert.equal(byMatras(ROWS, 12, -0.5), 11.75);
  assert.equal(byMatras(ROWS, 13, -3), 11);
});

test("at the first and the last row it stays inside, and outside of all rows it stays", () => {
  assert.equal(byMatras(ROWS, 10, -1), 10);
  assert.equal(byMatras(ROWS, 15.5, 4), 16);
  assert.equal(byMatras(ROWS, 99, 1), 99);
});

test("a row that begins in mid-cycle is counted from where it begins", () => {
  const rows = [{ first: 3, t: [10, 10.5, 11] }, { first: 1, t: [11, 11.5, 12, 12.5, 13] }];
  assert.equal(byMatras(rows, 10.5, 1), 11.5 - 0.5);
  assert.equal(byMatras(rows, 11, -0.5), 10.75);
});

test("how far is told with its sign, in ms below a second", () => {
  assert.equal(farWords(10, 10.03), "+30 ms");
  assert.equal(farWords(10.03, 10), "\u221230 ms");
  assert.equal(farWords(10, 10.0005), "+0.5 ms");
  assert.equal(farWords(10, 11.25), "+1.25 s");
});

test("the nearest mark is found, or none", () => {
  assert.deepEqual(nearestTo([{ time_s: 1 }, { time_s: 5 }], 3.5), { time_s: 5 });
  assert.equal(nearestTo([], 3), null);
});
