import assert from "node:assert/strict";
import { test } from "node:test";
import { intervalsSvg } from "../../../dashboard/assets/intervals.mjs";

const ROWS = [
  { item: "S", value: 2, low: 1, high: 3, told: true },
  { item: "R m P N S R m P N S R m P", value: -4.25, low: -9, high: 0.5, told: false },
  { item: "<G>", value: 0.5, low: null, high: null, told: false },
];
const TOLD = { x_title: "one minus other (percentage points)", y_title: "swara", rows: ROWS };

test("a full sign where the interval leaves out zero, a hollow one elsewhere", () => {
  const svg = intervalsSvg(TOLD, 600);
  assert.equal(svg.match(/class="sign"/g).length, 1);
  assert.equal(svg.match(/class="sign hollow"/g).length, 2);
  assert.equal(svg.match(/class="span"/g).length, 2);
});

test("pointing at a row tells its numbers", () => {
  const svg = intervalsSvg(TOLD, 600);
  assert.match(svg, /<title>R m P N S R m P N S R m P: −4.25, −9 to \+0.5</);
  assert.match(svg, /<title>&lt;G&gt;: \+0.5, no interval</);
});

test("zero is on the axis, both axes have titles, and all stays within a narrow window", () => {
  const svg = intervalsSvg(TOLD, 330);
  assert.match(svg, /class="zero"/);
  assert.match(svg, />one minus other \(percentage points\)</);
  assert.match(svg, />swara</);
  assert.match(svg, />R m P N S R m …</);
  for (const [, x] of svg.matchAll(/ (?:x|x2)="([\d.]+)"/g)) assert.ok(Number(x) <= 330);
});

test("nothing to compare gives axes all the same", () => {
  assert.match(intervalsSvg({ ...TOLD, rows: [] }, 330), />swara</);
});
