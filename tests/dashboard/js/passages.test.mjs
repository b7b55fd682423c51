import assert from "node:assert/strict";
import { test } from "node:test";
import { readPassages } from "../../../dashboard/assets/passages.mjs";

test("stretches are read in the order in which they are written", () => {
  assert.deepEqual(readPassages("12.5-14 3-4.25"), [
    { from_s: 12.5, to_s: 14 },
    { from_s: 3, to_s: 4.25 },
  ]);
});

test("what is no stretch is left out", () => {
  assert.deepEqual(readPassages(" 5-4 x-2 7 1-2 "), [{ from_s: 1, to_s: 2 }]);
  assert.deepEqual(readPassages(""), []);
});
