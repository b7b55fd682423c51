import assert from "node:assert/strict";
import { test } from "node:test";
import { CLICKS, clickSamples } from "../../../dashboard/assets/clicks.mjs";
import { EARS, earOf, nextEar } from "../../../dashboard/assets/ears.mjs";
import { PREFERRED, faster, gainOf, readPreferences, slower } from "../../../dashboard/assets/preferences.mjs";

test("what was kept is read back, and what makes no sense is as by default", () => {
  const kept = { ...PREFERRED, speed: 50, ear: "side", click: true, clickLevel: 0.25 };
  assert.deepEqual(readPreferences(JSON.stringify(kept)), kept);
  for (const text of [null, "", "{", "null", "[]", '"x"', '{"speed":"fast","ear":"nose","click":1,"thekaLevel":null}']) {
    assert.deepEqual(readPreferences(text), PREFERRED, text);
  }
  assert.equal(readPreferences('{"speed":3}').speed, 25);
  assert.equal(readPreferences('{"clickLevel":7}').clickLevel, 1);
});

test("the speed goes by fives from a quarter to the whole", () => {
  assert.equal(slower(100), 95);
  assert.equal(slower(25), 25);
  assert.equal(faster(100), 100);
  assert.equal(faster(25), 30);
});

test("the middle of a fader is a quarter of the amplitude, its ends nothing and all", () => {
  assert.deepEqual([0, 0.5, 1].map(gainOf), [0, 0.25, 1]);
});

const heard = (key, left, right) => {
  const [ll, rl, lr, rr] = earOf(key).matrix;
  return [ll * left + rl * right, lr * left + rr * right];
};

test("one channel is heard on both sides; mid and side add up to the left channel, and differ by the right one", () => {
  assert.deepEqual(heard("both", 0.6, -0.2), [0.6, -0.2]);
  assert.deepEqual(heard("left", 0.6, -0.2), [0.6, 0.6]);
  assert.deepEqual(heard("right", 0.6, -0.2), [-0.2, -0.2]);
  const [mid, side] = [heard("mid", 0.5, -0.25), heard("side", 0.5, -0.25)];
  assert.equal(mid[0] + side[0], 0.5);
  assert.equal(mid[0] - side[0], -0.25);
});

test("what both channels have in common is not heard in the side, and a recording of one channel is silent there", () => {
  assert.deepEqual(heard("side", 0.5, 0.5), [0, 0]);
});

test("going through the ways of hearing comes round", () => {
  let key = "both";
  for (const _ of EARS) key = nextEar(key);
  assert.equal(key, "both");
});

test("the click on sam is the loudest and highest, the one on khali the lowest; none is clipped", () => {
  const peak = (kind) => Math.max(...clickSamples(kind, 48000).map(Math.abs));
  const loudest = Object.keys(CLICKS).sort((a, b) => peak(b) - peak(a));
  assert.equal(loudest[0], "sam");
  assert.equal(loudest.at(-1), "matra");
  assert.ok(peak("sam") <= 1);
  assert.ok(CLICKS.khali.hz < CLICKS.matra.hz && CLICKS.matra.hz < CLICKS.sam.hz);
});

test("a click sounds within a millisecond and is over after fifty", () => {
  const samples = clickSamples("sam", 48000);
  assert.ok(Math.max(...samples.slice(0, 48).map(Math.abs)) > 0.5);
  assert.ok(Math.abs(samples.at(-1)) < 0.005);
  assert.equal(samples.length, 2400);
});
