// Taps against strokes: which belongs to which, the delay, the words; and the clock of a tap.
import assert from "node:assert/strict";
import { test } from "node:test";
import { delayOf, drawingOf, heardAt, matched, medianOf, outcomeOf, outcomeWords, said, wantedOf } from "../../../dashboard/assets/taps.mjs";

const strokes = (times) => times.map((time_s, i) => ({ time_s, words: `stroke ${i + 1}`, short: "Dha", landing: i === times.length - 1 }));
const near = (value, wanted) => assert.ok(Math.abs(value - wanted) < 1e-6, `${value} is not ${wanted}`);

test("a tap is heard at the output's time, by its own time and not by when it was handled", () => {
  const told = { contextTime: 12, performanceTime: 5000, currentTime: 12.3, now_ms: 5250, latency_s: 0.02 };
  near(heardAt(5100, told), 12.1);
  near(heardAt(4950, told), 11.95);
});

test("where a browser tells no output time, the latency is taken off the context's clock", () => {
  near(heardAt(5200, { currentTime: 12.3, now_ms: 5250, latency_s: 0.02 }), 12.23);
  near(heardAt(5200, { contextTime: 0, performanceTime: 0, currentTime: 12.3, now_ms: 5250, latency_s: 0.02 }), 12.23);
  near(heardAt(9200, { contextTime: 3, performanceTime: 1000, currentTime: 12.3, now_ms: 9250, latency_s: 0.02 }), 12.23);
});

test("taps on time belong to their strokes, in order", () => {
  assert.deepEqual(matched([1, 2, 3], [1.02, 1.97, 3.04]), [0, 1, 2]);
});

test("a missed stroke has no tap, and a tap too many belongs to none", () => {
  assert.deepEqual(matched([1, 2, 3], [1.02, 3.04]), [0, null, 1]);
  assert.deepEqual(matched([1, 2], [1.01, 1.5, 2.01]), [0, 2]);
  assert.deepEqual(matched([1, 2], []), [null, null]);
  assert.deepEqual(matched([], [1]), []);
});

test("quick strokes that are all late stay with their own taps as far as that costs least", () => {
  const target = Array.from({ length: 12 }, (_, i) => i * 0.1);
  assert.deepEqual(matched(target, target.map((s) => s + 0.04)), target.map((_, i) => i));
});

test("no tap belongs to two strokes and order is kept, whatever comes", () => {
  let seed = 7;
  const next = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
  for (let round = 0; round < 200; round += 1) {
    const target = Array.from({ length: 1 + Math.floor(next() * 9) }, () => next() * 4).sort((a, b) => a - b);
    const taps = Array.from({ length: Math.floor(next() * 12) }, () => next() * 4).sort((a, b) => a - b);
    const used = matched(target, taps).filter((tap) => tap !== null);
    assert.deepEqual(used, [...new Set(used)].sort((a, b) => a - b));
    matched(target, taps).forEach((tap, i) => tap !== null && assert.ok(Math.abs(taps[tap] - target[i]) <= 0.3 + 1e-9));
  }
});

test("the delay is the median, so that one slip does not count", () => {
  const clicks = Array.from({ length: 10 }, (_, i) => i * 0.6);
  const taps = clicks.map((s, i) => s + (i === 4 ? 0.2 : 0.08 + (i % 2 ? 0.01 : -0.01)));
  const { offset_ms, spread_ms, count } = delayOf(clicks, taps);
  assert.ok(Math.abs(offset_ms - 80) <= 10 + 1e-6);
  assert.ok(spread_ms <= 10 + 1e-6);
  assert.equal(count, 10);
  assert.equal(delayOf(clicks, taps.slice(0, 5)), null);
});

test("a median of an even count lies between the two in the middle", () => {
  assert.equal(medianOf([4, 1, 3, 2]), 2.5);
  assert.equal(medianOf([5]), 5);
  assert.equal(medianOf([]), null);
});

test("of the targets are clapped all, those that open pallas with the landing, or the landing", () => {
  const targets = [{ x: 0, opens: true, landing: false }, { x: 1, opens: false, landing: false }, { x: 2, opens: true, landing: false }, { x: 3, opens: false, landing: true }];
  assert.deepEqual(wantedOf(targets, "strokes").map(({ x }) => x), [0, 1, 2, 3]);
  assert.deepEqual(wantedOf(targets, "pallas").map(({ x }) => x), [0, 2, 3]);
  assert.deepEqual(wantedOf(targets, "landing").map(({ x }) => x), [3]);
});

test("the outcome tells the landing first, then the rest", () => {
  const outcome = outcomeOf(strokes([1, 2, 3]), [1.03, 3.04, 4]);
  near(outcome.landing_ms, 40);
  near(outcome.rows[0].dev_ms, 30);
  assert.equal(outcome.rows[1].dev_ms, null);
  assert.deepEqual([outcome.hit, outcome.missed, outcome.extra], [2, 1, 1]);
  const lines = outcomeWords(outcome);
  assert.equal(lines[0], "Your landing came 40 ms late.");
  assert.equal(lines[1], "2 of 3 strokes were clapped, by the median 35 ms late, half of them within 5 ms of that.");
  assert.equal(lines[2], "1 stroke has no clap.");
  assert.equal(lines[3], "1 clap belongs to no stroke.");
});

test("without a clap at the landing that is said", () => {
  const outcome = outcomeOf(strokes([1, 2]), [1]);
  assert.equal(outcome.landing_ms, null);
  assert.equal(outcomeWords(outcome)[0], "No clap came near the landing.");
});

test("the landing alone is told in one sentence", () => {
  assert.deepEqual(outcomeWords(outcomeOf(strokes([2]), [1.988])), ["Your landing came 12 ms early."]);
  assert.equal(said(0.3), "on the spot");
});

test("what is drawn has a sign for every stroke, axes with units, and the landing by name", () => {
  const drawn = drawingOf(outcomeOf(strokes([1, 2]), [1.01]), 100, 600);
  assert.deepEqual(drawn.names, ["Dha", "landing"]);
  assert.match(drawn.y_title, /ms$/);
  assert.equal(drawn.x_title, "stroke, in order");
  assert.equal(Math.round(drawn.series[0].values[0]), 10);
  assert.equal(drawn.series[0].values[1], null);
});

test("where names would run into each other, strokes are numbered", () => {
  const drawn = drawingOf(outcomeOf(strokes(Array.from({ length: 15 }, (_, i) => i)), [1.01]), 100, 320);
  assert.deepEqual(drawn.names.slice(0, 3), ["1", "2", "3"]);
  assert.equal(drawn.names.at(-1), "landing");
  assert.equal(drawn.x_title, "number of the stroke");
});
