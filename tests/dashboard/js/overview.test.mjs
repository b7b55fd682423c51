import assert from "node:assert/strict";
import { test } from "node:test";
import { overviewSvg, pxOfTime, timeOfPx } from "../../../dashboard/assets/overview.mjs";

const DATA = {
  duration_s: 3600,
  stretches: [{ title: "alap <1>", tala: null, start_s: 0, end_s: 1200 }, { title: "gat", tala: "rupak", start_s: 1200, end_s: 1205 }],
  loudness: [0, 50, 99],
  tihais: [{ landing_s: 1800, verdict: "lands", title: "t01" }, { landing_s: 1900, verdict: "misses", title: "t02" }],
};

test("time and px across the strip are each other's inverse, and a click outside means an end", () => {
  assert.equal(timeOfPx(pxOfTime(900, 3600, 720), 3600, 720), 900);
  assert.equal(timeOfPx(-5, 3600, 720), 0);
  assert.equal(timeOfPx(9999, 3600, 720), 3600);
  assert.equal(pxOfTime(1, 0, 720), 0);
});

test("a section is named where its name has room, and always in its tooltip", () => {
  const svg = overviewSvg(DATA, 720);
  assert.match(svg, />alap &lt;1&gt;<\/text>/);
  assert.match(svg, /<title>gat<\/title>/);
  assert.doesNotMatch(svg, />gat<\/text>/);
});

test("where signs would stand in each other there are ticks, short ones for what lands", () => {
  const tihais = Array.from({ length: 40 }, (_, i) => ({ landing_s: 90 * i, verdict: i % 2 ? "lands" : "late", title: `t${i}` }));
  const heights = [...overviewSvg({ ...DATA, tihais }, 390).matchAll(/landing-tick"[^>]* height="(\d+)"/g)].map(([, height]) => height);
  assert.deepEqual(heights.slice(0, 2), ["14", "6"]);
  assert.equal(heights.length, 40);
});

test("each tihai stands where it lands, with the sign of its verdict", () => {
  const svg = overviewSvg(DATA, 720);
  assert.match(svg, /landing lands/);
  assert.match(svg, /landing misses/);
  assert.match(svg, /cx="360"/);
});

test("a recording without sound has a strip without a waveform", () => {
  assert.match(overviewSvg({ ...DATA, loudness: [] }, 720), /class="loudness" stroke-width="[\d.]+" d=""/);
});
