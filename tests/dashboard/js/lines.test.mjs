import assert from "node:assert/strict";
import { test } from "node:test";
import { locate } from "../../../dashboard/assets/fold.mjs";
import { AN_AVARTAN, HALF, STEPS, cutsOf, lineAt, linesOf, partOf, pxOf, stepSaid, timeOfPx } from "../../../dashboard/assets/lines.mjs";

const RUPAK = { matras: 7, vibhags: [1, 4, 6], khali: [[1, 4]], marks: [], theka: ["Tin", "Tin", "Na", "Dhin", "Na", "Dhin", "Na"] };
const avartan = (label, begin_s, first = 1) => ({
  stretch: 1, label, first, t: Array.from({ length: 9 - first }, (_, i) => begin_s + i * 0.5),
});
// 22 s of alap (its last column reaches past it), a part of an avartan from matra 6 on, then five avartans of 3.5 s
const ROWS = [
  { stretch: 0, label: "", first: 1, t: [0, 5, 10, 15, 20] },
  { stretch: 0, label: "", first: 1, t: [20, 25] },
  avartan("", 22, 6), ...[1, 2, 3, 4, 5].map((n) => avartan(String(n), 23 + (n - 1) * 3.5)),
];
const DATA = {
  rows: ROWS,
  talas: { rupak: RUPAK },
  stretches: [{ title: "alap", tala: null, columns: 4, column_s: 5 }, { title: "gat", tala: "rupak", columns: 7 }],
};
const END_S = 23 + 5 * 3.5;
const ALL = STEPS.flatMap((_, step) => [false, true].map((straight) => [step, straight]));

test("at an avartan a row every row is a line", () => {
  const lines = linesOf(DATA, AN_AVARTAN, false);
  assert.deepEqual(lines.map(({ label }) => label), ["", "", "", "1", "2", "3", "4", "5"]);
  assert.ok(lines.every(({ parts, headed }) => parts.length === 1 && !headed));
});

test("farther out avartans stand side by side, never those of two stretches", () => {
  const lines = linesOf(DATA, AN_AVARTAN - 1, false);
  assert.deepEqual(lines.map(({ parts }) => parts.map(({ row }) => row)), [[0, 1], [2, 3], [4, 5], [6, 7]]);
  assert.deepEqual(lines[2].parts.map(({ at }) => at), [0, 7]);
  assert.equal(lines[2].columns, 14);
  assert.equal(lines[2].label, "2–3");
});

test("closer up a row is cut at vibhags, halves or matras; a part entered in mid-cycle only has its own", () => {
  assert.deepEqual(cutsOf(DATA.stretches[1], RUPAK, "vibhag"), [0, 3, 5, 7]);
  assert.deepEqual(cutsOf(DATA.stretches[1], RUPAK, "half"), [0, 3, 7]);
  assert.equal(cutsOf(DATA.stretches[1], RUPAK, "matra").length, 8);
  assert.deepEqual(cutsOf(DATA.stretches[0], null, "half"), [0, 2, 4]);
  const lines = linesOf(DATA, HALF, false).filter(({ stretch }) => stretch === 1);
  assert.deepEqual(lines[0].parts, [{ row: 2, from: 5, to: 7, at: -3 }]);
  assert.deepEqual(lines[1].parts, [{ row: 3, from: 0, to: 3, at: -0 }]);
});

test("a matra fills the row at the closest", () => {
  const lines = linesOf(DATA, STEPS.length - 1, false).filter(({ stretch }) => stretch === 1);
  assert.equal(lines.length, 2 + 5 * 7);
  assert.ok(lines.every(({ columns, headed }) => columns === 1 && headed));
});

test("a tala of one vibhag is halved near its middle", () => {
  assert.deepEqual(cutsOf({ columns: 5 }, { vibhags: [1] }, "half"), [0, 3, 5]);
});

test("straight on, time is equally wide everywhere and a stretch begins a line", () => {
  const lines = linesOf(DATA, HALF, true);
  assert.deepEqual(lines.map(({ start_s }) => start_s), [0, 10, 20, 22, 32]);
  assert.equal(lines[2].end_s, 22); // there the gat begins
  const px = (line, time_s) => {
    const place = locate(ROWS, time_s);
    return pxOf(line, partOf(line, place), ROWS, 1060, 30)(place.x);
  };
  assert.ok(Math.abs(px(lines[3], 24) - px(lines[3], 23) - 100) < 1e-6); // 10 s are 1000 px
  assert.ok(Math.abs(px(lines[3], 31) - px(lines[3], 30) - 100) < 1e-6);
});

for (const [step, straight] of ALL) {
  test(`every moment stands in a line, at a place that means it again: ${stepSaid(step, straight)}`, () => {
    const lines = linesOf(DATA, step, straight);
    for (let time_s = 0.01; time_s < END_S; time_s += 0.237) {
      const line = lines[lineAt(lines, time_s)];
      assert.ok(line.start_s <= time_s && time_s <= line.end_s + 1e-6, `${time_s} s`);
      const place = locate(ROWS, time_s);
      const px = pxOf(line, partOf(line, place), ROWS, 860, 30)(place.x);
      assert.ok(px >= 30 - 1e-6 && px <= 830 + 1e-6, `${time_s} s at ${px} px`);
      assert.ok(Math.abs(timeOfPx(line, ROWS, 860, 30, px) - time_s) < 1e-6, `${time_s} s`);
    }
  });
}

test("beside a line a click means its first or last moment", () => {
  for (const [step, straight] of ALL) {
    const line = linesOf(DATA, step, straight).at(-1);
    assert.ok(Math.abs(timeOfPx(line, ROWS, 860, 30, 2) - line.start_s) < 1e-6);
    assert.ok(timeOfPx(line, ROWS, 860, 30, 859) <= END_S + 1e-6);
  }
});

test("a recording without rows has no lines", () => {
  assert.deepEqual(linesOf({ rows: [], stretches: [], talas: {} }, AN_AVARTAN, false), []);
});

test("how much a row holds is said in avartans, straight on in seconds", () => {
  assert.equal(stepSaid(AN_AVARTAN, false), "an avartan a row");
  assert.equal(stepSaid(AN_AVARTAN, true), "20 s a row");
});
