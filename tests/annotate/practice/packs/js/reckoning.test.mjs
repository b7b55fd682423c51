// What a pack's player reckons. Run by tests/annotate/practice/packs/test_javascript.py, or: node --test FILE
import assert from "node:assert/strict";
import { test } from "node:test";

await import("../../../../../annotate/practice/packs/page/reckoning.js");
const {
  bytesOf, lateness, loopOf, flow, positionOf, placeAt, timeAt, carried, cellAt, clock, meaningOf, partOf,
} = globalThis.reckoning;

const near = (found, wanted) => assert.ok(Math.abs(found - wanted) < 1e-9, `${found} is not ${wanted}`);

test("base64 comes back as the bytes it was", () => {
  const bytes = Uint8Array.from({ length: 256 }, (_, at) => at);
  assert.deepEqual(bytesOf(Buffer.from(bytes).toString("base64")), bytes);
});

test("the silence that a decoder keeps is told from a sound that it cut to length", () => {
  assert.equal(lateness(10.0, 10.0, 0.025), 0);
  assert.equal(lateness(10.001, 10.0, 0.025), 0);
  assert.equal(lateness(10.046, 10.0, 0.025), 0.025);
});

test("a loop has its length to the sample, wherever it begins", () => {
  for (const begin_s of [0.5, 0.50001, 1.33333]) {
    const { begin, end } = loopOf(begin_s, begin_s + 2.5, 48000, 48000 * 10);
    assert.equal(end - begin, 120000);
  }
});

test("a loop begins a little before its first stroke, so that the attack is whole", () => {
  assert.equal(loopOf(1, 2, 1000, 5000).begin, 990);
  assert.equal(loopOf(0, 1, 1000, 5000).begin, 0);
});

test("a loop stays within the sound", () => {
  const { begin, end } = loopOf(4.5, 6, 1000, 5000);
  assert.ok(begin >= 0 && end === 5000);
});

test("where a loop goes round there is no step in the sound", () => {
  const rate = 8000;
  const samples = Float32Array.from({ length: rate * 2 }, (_, at) => Math.sin(at * 0.05) + at / rate / 2);
  const loop = loopOf(0.7, 1.613, rate, samples.length);
  const before = samples.slice();
  flow(samples, loop, rate);
  const step = Math.abs(samples[loop.begin] - samples[loop.end - 1]);
  const usual = 0.06; // the steepest step between two samples of this wave
  assert.ok(Math.abs(before[loop.begin] - before[loop.end - 1]) > usual * 3, "there was a step to begin with");
  assert.ok(step < usual, `${step}`);
  assert.deepEqual(samples.slice(0, loop.end - 48), before.slice(0, loop.end - 48));
});

test("a position goes round within the loop after what comes before it was heard", () => {
  const loop = { begin_s: 2, end_s: 5 };
  assert.equal(positionOf(0, 1, loop), 1);
  assert.equal(positionOf(0, 5.5, loop), 2.5);
  assert.equal(positionOf(0, 11.5, loop), 2.5);
  assert.equal(positionOf(0, 11.5, null), 11.5);
});

test("places and times follow each other between the known ones and on beyond them", () => {
  const places = [[0, 1], [6, 4], [12, 8]];
  near(placeAt(places, 2.5), 3);
  near(placeAt(places, 6), 9);
  near(placeAt(places, 9), 13.5);
  near(placeAt(places, 0.5), -1);
  near(timeAt(places, 9), 6);
  assert.equal(placeAt([], 3), null);
});

test("the same place is found in a slower sound, with its longer count-in", () => {
  const quick = { duration_s: 10, places: [[0, 2], [16, 10]] };
  const slow = { duration_s: 20, places: [[0, 4], [16, 20]] };
  near(carried(6, quick, slow), 12);
  near(carried(0, slow, quick), 0);
  near(carried(5, { duration_s: 10, places: [] }, slow), 10);
});

test("one cell is lit at a time, none before the piece or after its last matra", () => {
  const starts = [-1, 0, 1, 2];
  assert.equal(cellAt(starts, 0), 1);
  assert.equal(cellAt(starts, 1.99), 2);
  assert.equal(cellAt(starts, 3.01), -1);
  assert.equal(cellAt(starts, -1.2), -1);
  assert.equal(cellAt(starts, null), -1);
});

test("a clock shows tenths, and never sixty seconds", () => {
  assert.equal(clock(83.24), "1:23.2");
  assert.equal(clock(59.96), "1:00.0");
  assert.equal(clock(-1), "0:00.0");
});

test("keys mean nothing in a field, with Ctrl, or where a control needs them itself", () => {
  const press = (key, more = {}) => meaningOf({ key, ctrlKey: false, metaKey: false, altKey: false, on: "", ...more });
  assert.deepEqual(press(" "), { does: "play" });
  assert.deepEqual(press("D"), { does: "part", part: "dam" });
  assert.equal(press(" ", { on: "control" }), null);
  assert.deepEqual(press("d", { on: "control" }), { does: "part", part: "dam" });
  assert.equal(press("ArrowLeft", { on: "seek" }), null);
  assert.equal(press("r", { ctrlKey: true }), null);
  assert.equal(press("r", { on: "field" }), null);
  assert.equal(press("q"), null);
});

test("a part is found by its whole name, or by how it begins", () => {
  const parts = ["whole", "palla 1", "dam 1", "palla 2", "landing avartan"].map((words) => ({ words }));
  assert.equal(partOf(parts, "palla 2"), 3);
  assert.equal(partOf(parts, "dam"), 2);
  assert.equal(partOf(parts, "landing"), 4);
  assert.equal(partOf(parts, "palla 3"), -1);
});
