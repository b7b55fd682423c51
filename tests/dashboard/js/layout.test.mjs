import assert from "node:assert/strict";
import { test } from "node:test";
import { between, layOut, lineLayout, rangeOf } from "../../../dashboard/assets/layout.mjs";
import { AN_AVARTAN, linesOf } from "../../../dashboard/assets/lines.mjs";

const row = (stretch, begin_s, more = {}) => ({
  stretch, label: "1", first: 1, t: [begin_s, begin_s + 1, begin_s + 2], range: null, tihais: 0, phrases: 0, landings: 0, ...more,
});
const dataOf = (rows, strokes = true) => ({
  rows, strokes, talas: {}, stretches: [{ tala: null, columns: 2, column_s: 1 }, { tala: null, columns: 2, column_s: 1 }],
});
const height = (more, strokes = true) => {
  const data = dataOf([row(0, 0, more)], strokes);
  return lineLayout({ parts: [{ row: 0 }], headed: false }, data, 4).height;
};

test("a line is only as high as what runs through it", () => {
  assert.ok(height({}) < height({ tihais: 1 }));
  assert.equal(height({ tihais: 2 }) - height({ tihais: 1 }), height({ tihais: 1 }) - height({}));
  assert.ok(height({ landings: 1 }) > height({}));
  assert.ok(height({}, false) < height({}));
});

test("a melody takes as many semitones as it needs", () => {
  assert.equal(height({ range: [-2, 13] }) - height({ range: [0, 12] }), 3 * 4);
});

test("lines that hold several rows have room for the highest and the lowest of them", () => {
  const rows = [row(0, 0, { range: [-5, 7] }), row(0, 2, { range: null }), row(0, 4, { range: [0, 14] })];
  assert.deepEqual(rangeOf([{ row: 0 }, { row: 1 }, { row: 2 }], rows), [-5, 14]);
  assert.equal(rangeOf([{ row: 1 }], rows), null);
});

test("lines stand one below the other without a gap, in a block for each stretch", () => {
  const data = dataOf([row(0, 0), row(0, 2), row(1, 4), row(-1, 6), row(1, 8)]);
  const laid = layOut(data, linesOf(data, AN_AVARTAN, false), AN_AVARTAN);
  assert.deepEqual(laid.blocks.map(({ first, last }) => [first, last]), [[0, 1], [2, 2], [3, 3], [4, 4]]);
  assert.equal(laid.lines[1].top, laid.lines[0].top + laid.lines[0].height + 1);
  laid.blocks.forEach((block, i) => assert.equal(block.top + block.height, laid.blocks[i + 1]?.top ?? laid.height));
});

test("what is near the window is found by height", () => {
  const placed = [{ top: 0 }, { top: 100 }, { top: 200 }, { top: 300 }];
  assert.deepEqual(between(placed, 150, 250), [1, 3]);
  assert.deepEqual(between(placed, -50, 10), [0, 1]);
  assert.deepEqual(between(placed, 350, 900), [3, 4]);
  assert.deepEqual(between([], 0, 10), [0, 0]);
});
