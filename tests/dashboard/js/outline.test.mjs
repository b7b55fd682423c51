import assert from "node:assert/strict";
import { test } from "node:test";
import { changedRows, timesOf, unpack } from "../../../dashboard/assets/outline.mjs";

test("ticks become seconds to the tenth of a millisecond, without a rounding that adds up", () => {
  const times = timesOf([282517, ...Array(1000).fill(6123)]);
  assert.equal(times[0], 28.2517);
  assert.equal(times[1000], 640.5517);
});

test("an unpacked outline has the times of its rows and all else as it was", () => {
  const data = unpack({ slug: "a", rows: [{ key: "k", first: 3, ticks: [10000, 5000] }] });
  assert.deepEqual(data, { slug: "a", at_s: null, rows: [{ key: "k", first: 3, t: [1, 1.5] }] });
});

test("rows whose key is new have changed", () => {
  const rows = (...keys) => ({ rows: keys.map((key) => ({ key })) });
  assert.equal(changedRows(rows("a", "b", "c"), rows("a", "x", "c", "y")), 2);
  assert.equal(changedRows(rows("a", "b"), rows("b")), 0);
});
