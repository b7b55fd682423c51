import assert from "node:assert/strict";
import { test } from "node:test";
import { deviationsSvg, reachOf, runsOf } from "../../../dashboard/assets/deviations.mjs";

const series = (name, values, landing = false) => ({ name, values, landing, places: values.map((_, n) => [n, n + 1.2]) });
const STROKES = {
  x_title: "note of the palla, in order", y_title: "played minus paper (ms), late is up", names: ["1 R", "2 m<", "landing"],
  band_ms: 100, stems: false, series: [series("palla 1", [12, null]), series("palla 2", [-30, 4, 90], true)],
};
const STATEMENTS = { ...STROKES, names: ["palla 1", "landing"], stems: true, series: [series("", [3, -20], true)] };

test("both axes say what they show and in what unit", () => {
  for (const told of [STROKES, STATEMENTS]) {
    const svg = deviationsSvg(told, 600);
    assert.match(svg, />played minus paper \(ms\), late is up</);
    assert.match(svg, new RegExp(`>${told.x_title}<`));
  }
});

test("the axis holds every value and the band, and small deviations are not blown up", () => {
  assert.ok(reachOf(STROKES) > 100);
  assert.equal(reachOf({ band_ms: null, series: [series("", [1, -2])] }), 72);
});

test("what was not found leaves a gap in the line", () => {
  assert.deepEqual(runsOf([1, 2, null, 3]), [[0, 1], [3]]);
  assert.deepEqual(runsOf([null, null]), []);
  assert.equal(deviationsSvg(STROKES, 600).match(/class="sign/g).length, 4 + 2); // two of them in the legend
});

test("late is drawn above early", () => {
  const y = (svg) => [...svg.matchAll(/class="reach" cx="[\d.]+" cy="([\d.]+)"/g)].map((found) => Number(found[1]));
  const [late, early] = y(deviationsSvg(STATEMENTS, 600));
  assert.ok(late < early);
});

test("series differ by their signs, and the landing from the rest", () => {
  const svg = deviationsSvg(STROKES, 600);
  assert.match(svg, /class="series-0">.*<circle class="sign"/s);
  assert.match(svg, /class="series-1">.*<rect class="sign"/s);
  assert.equal(svg.match(/class="ring"/g).length, 1);
});

test("a sign says what it is and what a click on it plays; without sound it plays nothing", () => {
  const svg = deviationsSvg(STROKES, 600);
  assert.match(svg, /<g class="place" data-from="1" data-to="2.2"><title>2 m&lt;, palla 2: \+4 ms; click to hear it</);
  const silent = { ...STATEMENTS, series: [{ ...STATEMENTS.series[0], places: [null, null] }] };
  assert.doesNotMatch(deviationsSvg(silent, 600), /data-from/);
});

test("in a narrow window names stand in two lines, and everything stays within the width", () => {
  const names = Array.from({ length: 17 }, (_, n) => `${n + 1} Ga`);
  const svg = deviationsSvg({ ...STROKES, names, series: [series("palla 1", names.map(() => 5))] }, 340);
  assert.match(svg, /<tspan x="[\d.]+" dy="15">Ga</);
  for (const [, x] of svg.matchAll(/ (?:x|cx|x2)="([\d.]+)"/g)) assert.ok(Number(x) <= 340);
});
