import assert from "node:assert/strict";
import { test } from "node:test";
import { signed, ticks } from "../../../dashboard/assets/scale.mjs";

test("numbers along an axis are round, within it, and no more than wanted", () => {
  assert.deepEqual(ticks(-72, 72, 7), [-50, 0, 50]);
  assert.deepEqual(ticks(0, 2.31, 6), [0, 0.5, 1, 1.5, 2]);
  assert.deepEqual(ticks(0, 0.3, 4), [0, 0.1, 0.2, 0.3]);
  for (const most of [2, 5, 9]) assert.ok(ticks(0, 987, most).length <= most);
});

test("an axis without length has one number", () => {
  assert.deepEqual(ticks(3, 3, 5), [3]);
});

test("late has a plus, early a minus sign, and what rounds to nothing neither", () => {
  assert.deepEqual([12.4, -7, 0.2, -0.4].map(signed), ["+12", "−7", "0", "0"]);
});
