import assert from "node:assert/strict";
import { test } from "node:test";
import { layaBit, layaOf, layaPx, layaScale, layaText } from "../../../dashboard/assets/laya.mjs";

test("the laya of a line is its matras over its time", () => {
  assert.equal(layaOf({ parts: [{ from: 0, to: 16 }], start_s: 10, end_s: 18 }, {}), 120);
  assert.equal(layaOf({ parts: [{ from: 8, to: 16 }, { from: 0, to: 16 }], start_s: 0, end_s: 24 }, {}), 60);
  assert.equal(layaOf({ parts: [{ from: 0, to: 4 }], start_s: 0, end_s: 20 }, null), null);
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
