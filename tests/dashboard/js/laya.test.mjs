import assert from "node:assert/strict";
import { test } from "node:test";
import { layaBit, layaOf, layaPx, layaScale, layaText } from "../../../dashboard/assets/laya.mjs";

const ROWS = [
  { first: 1, t: [10, 10.5, 11, 11.5, 12] },
  { first: 1, t: [12, 13, 14, 15, 16] },
  { first: 1, t: [16, 17, 18, 18.01] }, // cut off: nobody knows when its third matra ends
];
const laya = (parts, tala = {}) => layaOf({ parts }, ROWS, tala, 2);

test("the laya of a line is its matras over its time", () => {
  assert.equal(laya([{ row: 0, from: 0, to: 4 }]), 120);
  assert.equal(laya([{ row: 0, from: 2, to: 4 }]), 120);
  assert.equal(laya([{ row: 0, from: 0, to: 4 }, { row: 1, from: 0, to: 4 }]), 80);
  assert.equal(laya([{ row: 0, from: 0, to: 4 }], null), null);
});

test("the last matra of a stretch, which may be cut off, does not count", () => {
  assert.equal(laya([{ row: 2, from: 0, to: 3 }]), 60);
  assert.equal(laya([{ row: 2, from: 2, to: 3 }]), null);
});

test("the scale has round ends around all values", () => {
  for (const values of [[118.2, 139.4], [12.31, 12.9], [60, 60], [240, 255, null, 312]]) {
    const { low, high } = layaScale(values);
    const known = values.filter((value) => value !== null);
    assert.ok(low <= Math.min(...known) && Math.max(...known) <= high && low < high, String(values));
    assert.ok(layaText(low).length <= 5 && layaText(high).length <= 5);
  }
  assert.deepEqual(layaScale([118.2, 139.4]), { low: 100, high: 140 });
});

test("one line alone, and time without a tala, have no tempo line", () => {
  assert.equal(layaScale([120]), null);
  assert.equal(layaScale([null, null]), null);
  assert.equal(layaBit({ before: null, here: null, after: null }, { low: 1, high: 2 }, 60, 40), "");
});

test("the tempo line runs on from line to line", () => {
  const scale = { low: 100, high: 140 };
  const foot = layaBit({ before: null, here: 110, after: 120 }, scale, 60, 40).match(/L([\d.]+) 40"/)[1];
  const head = layaBit({ before: 110, here: 120, after: null }, scale, 60, 40).match(/M([\d.]+) 0L/)[1];
  assert.equal(foot, head);
  assert.ok(layaPx(110, scale, 60) < Number(foot) && Number(foot) < layaPx(120, scale, 60));
});
