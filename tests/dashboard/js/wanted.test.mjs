import assert from "node:assert/strict";
import { test } from "node:test";
import { BLOCK, blocksOf, cellsFor } from "../../../dashboard/assets/wanted.mjs";

const none = () => false;

test("rows are asked for in whole blocks", () => {
  assert.deepEqual(blocksOf(3, 30, none, [3, 30]), [[0, BLOCK], [BLOCK, 2 * BLOCK]]);
  assert.deepEqual(blocksOf(BLOCK, 2 * BLOCK, none, [BLOCK, 2 * BLOCK]), [[BLOCK, 2 * BLOCK]]);
});

test("blocks in view come first, then those nearest to it", () => {
  const blocks = blocksOf(0, 5 * BLOCK, none, [2 * BLOCK + 3, 2 * BLOCK + 9]);
  assert.equal(blocks[0][0], 2 * BLOCK);
  assert.deepEqual(blocks.slice(3).map(([from]) => from).sort((a, b) => a - b), [0, 4 * BLOCK]);
});

test("what is there is not asked for", () => {
  assert.deepEqual(blocksOf(0, 3 * BLOCK, (row) => row < BLOCK || row >= 2 * BLOCK, [0, 3]), [[BLOCK, 2 * BLOCK]]);
  assert.deepEqual(blocksOf(0, 3 * BLOCK, () => true, [0, 3]), []);
  assert.deepEqual(blocksOf(0, 0, none, [0, 0]), []);
});

test("a column is drawn in about as many steps as it has px", () => {
  assert.deepEqual([3, 4, 30, 62, 250, 900, 5000].map(cellsFor), [4, 4, 64, 64, 256, 1024, 1024]);
});
