import assert from "node:assert/strict";
import { test } from "node:test";
import { lastAtOrBefore, locate, stepColumns, stepRows, timeAt } from "../../../dashboard/assets/fold.mjs";

// rupak-like rows of 7 columns that speed up, the first one entered at matra 6, then a gap, then a row of its own
const ROWS = [
  { first: 6, t: [0.5, 1.5, 2.5] },
  { first: 1, t: [2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5, 9.5] },
  { first: 1, t: [9.5, 10, 10.5, 11, 11.5, 12, 12.5, 13] },
  { first: 1, t: [20, 22, 24] },
];

test("the first matra of a row is at its left edge", () => {
  assert.deepEqual(locate(ROWS, 9.5), { row: 2, x: 0 });
});

test("a row entered in mid-cycle begins at its own matra", () => {
  assert.deepEqual(locate(ROWS, 0.5), { row: 0, x: 5 });
  assert.deepEqual(locate(ROWS, 2.0), { row: 0, x: 6.5 });
});

test("between two matras the place is linear in time", () => {
  assert.deepEqual(locate(ROWS, 10.25), { row: 2, x: 1.5 });
});

test("outside the rows and in the gap between two there is no place", () => {
  assert.equal(locate(ROWS, 0.49), null);
  assert.equal(locate(ROWS, 15), null);
  assert.equal(locate(ROWS, 24.01), null);
  assert.equal(locate([], 1), null);
});

test("the last instant of the last row belongs to it", () => {
  assert.deepEqual(locate(ROWS, 24), { row: 3, x: 2 });
});

test("a place folded out of a time unfolds to that time", () => {
  for (let time_s = 0.5; time_s <= 13; time_s += 0.03) {
    const place = locate(ROWS, time_s);
    assert.ok(Math.abs(timeAt(ROWS, place.row, place.x) - time_s) < 1e-9, `at ${time_s} s`);
  }
});

test("a click beside the columns means the row's first or last instant", () => {
  assert.equal(timeAt(ROWS, 0, 1), 0.5);
  assert.equal(timeAt(ROWS, 2, 99), 13);
});

test("a matra on goes to the next matra, over the end of the row to the next sam", () => {
  assert.equal(stepColumns(ROWS, 10.3, 1), 10.5);
  assert.equal(stepColumns(ROWS, 12.7, 1), 20);
  assert.equal(stepColumns(ROWS, 2.0, 1), 2.5);
});

test("a matra back goes to the matra before, over sam into the row before", () => {
  assert.equal(stepColumns(ROWS, 9.5, -1), 8.5);
  assert.equal(stepColumns(ROWS, 10.3, -1), 10);
  assert.equal(stepColumns(ROWS, 2.5, -1), 1.5);
  assert.equal(stepColumns(ROWS, 0.5, -1), 0.5);
});

test("an avartan back goes to this row's sam first, then to the one before", () => {
  assert.equal(stepRows(ROWS, 12, -1), 9.5);
  assert.equal(stepRows(ROWS, 9.6, -1), 2.5);
  assert.equal(stepRows(ROWS, 9.6, 1), 20);
  assert.equal(stepRows(ROWS, 23, 1), 20);
});

test("the search finds the last value at or before", () => {
  assert.equal(lastAtOrBefore([1, 2, 2, 3], 2), 2);
  assert.equal(lastAtOrBefore([1, 2], 0.5), -1);
  assert.equal(lastAtOrBefore([], 1), -1);
});
