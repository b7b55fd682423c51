// A piece's run through the cycles: drawn as the Cycles page draws, with the cursor where the sound is.
import assert from "node:assert/strict";
import { test } from "node:test";
import { GUTTER, drawnRun, unpacked } from "../../../dashboard/assets/run.mjs";

const tala = {
  name: "Four", matras: 4, vibhags: [1, 3], khali: [[3, 5]], marks: [{ matra: 1, label: "X", kind: "tali" }, { matra: 3, label: "0", kind: "khali" }],
  theka: ["Dha", "Dhin", "Na", "Tin"], said: "Four",
};
const empty = { pallas: [], links: [], landings: [], aims: [], phrases: [] };
const row = (index, detail) => ({
  stretch: 0, label: String(index + 1), first: 1, ticks: [index * 40000, 10000, 10000, 10000, 10000], marked: false, key: String(index),
  range: null, tihais: 1, phrases: 0, landings: detail.landings.length, detail,
});
const palla = { id: "1", n: 1, lane: 0, status: "confirmed", title: "Palla <1>", from: 0, to: 2, begins: true, ends: true, notes: [[0, "Ti"], [1, "Dha"]] };
const landing = { id: "1", lane: 0, x: 0, verdict: "lands", text: "lands on sam", title: "", href: "" };
const data = unpacked({
  tala: "four", talas: { four: tala }, stretches: [{ title: "Four", start_s: 0, end_s: 8, tala: "four", columns: 4 }], strokes: false, swaras: [],
  rows: [row(0, { ...empty, pallas: [palla] }), row(1, { ...empty, landings: [landing] })],
});

test("each avartan is a line under the theka, with its palla, its notes and its landing", () => {
  const { markup } = drawnRun(data, 600);
  assert.equal(markup.match(/class="run-line"/g).length, 2);
  assert.match(markup, /run-head.*Dhin/s);
  assert.match(markup, /palla-bar/);
  assert.match(markup, />Ti</);
  assert.match(markup, /landing lands/);
  assert.match(markup, /Palla &lt;1&gt;/);
});

test("the cursor stands over the matra that sounds, line by line, and nowhere outside the run", () => {
  const { spotOf } = drawnRun(data, 600);
  const [first, later, next] = [spotOf(0), spotOf(2), spotOf(4)];
  assert.ok(first.left >= GUTTER && later.left > first.left);
  assert.equal(next.left, first.left);
  assert.ok(next.top > first.top);
  assert.equal(spotOf(-1), null);
  assert.equal(spotOf(9), null);
});

test("where there is little room an avartan takes two lines", () => {
  const { markup, spotOf } = drawnRun(data, 120);
  assert.equal(markup.match(/class="run-line"/g).length, 4);
  assert.ok(spotOf(2.5).top > spotOf(1).top);
});
