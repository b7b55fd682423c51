import assert from "node:assert/strict";
import { test } from "node:test";
import { LEAD_S, PIECE_S, firstSpan, nextSpan, pieceBounds, placeAt, startOf } from "../../../dashboard/assets/reel.mjs";

const near = (a, b) => assert.ok(Math.abs(a - b) < 1e-9, `${a} is not ${b}`);

function spansOf(reel, count) {
  const spans = [];
  for (let span = firstSpan(reel); span !== null && spans.length < count; span = nextSpan(reel, span)) spans.push(span);
  return spans;
}

const plain = { start_s: 3, speed: 1, loop: null, end_s: 13 };

test("a piece begins at a multiple of its length, with a little sound before it", () => {
  assert.deepEqual(pieceBounds(0), { from_ms: 0, to_ms: PIECE_S * 1000 });
  assert.deepEqual(pieceBounds(3), { from_ms: 3 * PIECE_S * 1000 - LEAD_S * 1000, to_ms: 4 * PIECE_S * 1000 });
});

test("spans lie end to end, in the recording and in time, and stop where the sound ends", () => {
  const spans = spansOf(plain, 99);
  assert.deepEqual(spans.map(({ from_s, to_s, piece, seam }) => [from_s, to_s, piece, seam]), [
    [3, 5, 0, "start"], [5, 10, 1, "on"], [10, 13, 2, "on"],
  ]);
  assert.deepEqual(spans.map(({ at, lasts }) => [at, lasts]), [[0, 2], [2, 5], [7, 3]]);
});

test("at a quarter of the speed everything lasts four times as long", () => {
  const spans = spansOf({ ...plain, speed: 0.25 }, 99);
  assert.deepEqual(spans.map(({ at, lasts }) => [at, lasts]), [[0, 8], [8, 20], [28, 12]]);
});

test("a loop comes back to its start without a gap, again and again", () => {
  const spans = spansOf({ start_s: 7, speed: 0.5, loop: { from_s: 6, to_s: 11 }, end_s: 60 }, 6);
  assert.deepEqual(spans.map(({ from_s, to_s, seam }) => [from_s, to_s, seam]), [
    [7, 10, "start"], [10, 11, "on"], [6, 10, "return"], [10, 11, "on"], [6, 10, "return"], [10, 11, "on"],
  ]);
  spans.slice(1).forEach((span, i) => near(span.at, spans[i].at + spans[i].lasts));
});

test("after many rounds a loop is still in time to the rounding of numbers", () => {
  const loop = { from_s: 1 / 3, to_s: 1 / 3 + 0.7 };
  const spans = spansOf({ start_s: loop.from_s, speed: 0.35, loop, end_s: 60 }, 5000);
  assert.equal(spans.length, 5000);
  near(spans.at(-1).at / 1e3, (4999 * 0.7) / 0.35 / 1e3);
});

test("a loop inside one piece, and one that ends where a piece ends, come back just the same", () => {
  const inside = spansOf({ start_s: 6, speed: 1, loop: { from_s: 6, to_s: 6.5 }, end_s: 60 }, 3);
  assert.deepEqual(inside.map(({ from_s, to_s }) => [from_s, to_s]), [[6, 6.5], [6, 6.5], [6, 6.5]]);
  const edge = spansOf({ start_s: 8, speed: 1, loop: { from_s: 8, to_s: 10 }, end_s: 60 }, 3);
  assert.deepEqual(edge.map(({ from_s, to_s, seam }) => [from_s, to_s, seam]), [[8, 10, "start"], [8, 10, "return"], [8, 10, "return"]]);
});

test("what begins after a loop's end goes on to the end", () => {
  const spans = spansOf({ start_s: 12, speed: 1, loop: { from_s: 6, to_s: 11 }, end_s: 16 }, 9);
  assert.deepEqual(spans.map(({ to_s }) => to_s), [15, 16]);
});

test("nothing is played from the end on", () => {
  assert.equal(firstSpan({ ...plain, start_s: 13 }), null);
});

test("playing starts at the beginning of a stretch when the place is outside, or a hair before its end", () => {
  const stretch = { from_s: 4, to_s: 8 };
  assert.equal(startOf(5, stretch), 5);
  assert.equal(startOf(4, stretch), 4);
  assert.equal(startOf(3.9, stretch), 4);
  assert.equal(startOf(7.99, stretch), 4);
  assert.equal(startOf(9, stretch), 4);
  assert.equal(startOf(9, null), 9);
});

test("the place in the recording follows the speed, and stays put before the start and after the end", () => {
  const reel = { start_s: 7, speed: 0.5, loop: { from_s: 6, to_s: 8 }, end_s: 60 };
  const spans = spansOf(reel, 3);
  near(placeAt(spans, 0.5, 1), 7.5);
  near(placeAt(spans, 0.5, 2.5), 6.25); // back at 6 after 2 s of playing
  near(placeAt(spans, 0.5, -0.1), 7);
  near(placeAt(spans, 0.5, 99), 8);
});
