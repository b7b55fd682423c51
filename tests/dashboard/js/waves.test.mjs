import assert from "node:assert/strict";
import { test } from "node:test";
import { cursorAt, stretchAt, wavesSvg } from "../../../dashboard/assets/waves.mjs";

const row = (name, from_s, to_s) => ({
  name, from_s, to_s, edge_s: [0, 0.5, 1], low: [-1, -0.2], high: [0.5, 0.1], written: [[0, "R"], [0.01, "m"], [0.5, "P"]], played_s: [0.02],
});
const TOLD = {
  x_title: "time from the palla's own start (s)", y_title: "sound (share of the loudest)", length_s: 1,
  rows: [row("palla 1", 10, 11), row("palla 2", 11, 11.9), row("palla 3", 12, 13)],
};
const WIDTH = 446; // 400 px for a second
const LEFT = 34;

test("the cursor stands in the palla that is heard, as far along as it is from that palla's start", () => {
  assert.deepEqual(cursorAt(TOLD, 10.25, WIDTH), { row: 0, x: LEFT + 100 });
  assert.deepEqual(cursorAt(TOLD, 11.5, WIDTH), { row: 1, x: LEFT + 200 });
  assert.equal(cursorAt(TOLD, 11, WIDTH).row, 1);
});

test("before, between and after the pallas there is no cursor", () => {
  for (const time_s of [9.99, 11.95, 13]) assert.equal(cursorAt(TOLD, time_s, WIDTH), null);
});

test("a click plays from there to the end of the palla", () => {
  assert.deepEqual(stretchAt(TOLD, 0, LEFT + 100, WIDTH), { from_s: 10.25, to_s: 11 });
  assert.deepEqual(stretchAt(TOLD, 0, 0, WIDTH), { from_s: 10, to_s: 11 }); // on the name beside it
});

test("a click beyond the palla's end plays what is drawn there", () => {
  assert.deepEqual(stretchAt(TOLD, 1, LEFT + 380, WIDTH), { from_s: 11.95, to_s: 12 });
});

test("where the cursor stands and what a click there plays are the same time", () => {
  for (const time_s of [10.1, 11.3, 12.77]) {
    const { row: number, x } = cursorAt(TOLD, time_s, WIDTH);
    assert.ok(Math.abs(stretchAt(TOLD, number, x, WIDTH).from_s - time_s) < 0.0003); // a tenth of a px
  }
});

test("every palla has its waveform, and both axes their titles with units", () => {
  const svg = wavesSvg(TOLD, WIDTH);
  assert.equal(svg.match(/class="wave"/g).length, 3);
  assert.match(svg, />time from the palla's own start \(s\)</);
  assert.match(svg, />sound \(share of the loudest\)</);
});

test("a note is left out where it would stand on the one before; its line stays", () => {
  const svg = wavesSvg(TOLD, WIDTH);
  assert.equal(svg.match(/class="written"/g).length, 9);
  assert.doesNotMatch(svg, />m</);
});
