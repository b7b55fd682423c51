import assert from "node:assert/strict";
import { test } from "node:test";
import { lineLayout } from "../../../dashboard/assets/layout.mjs";
import { AN_AVARTAN, HALF, STEPS, linesOf } from "../../../dashboard/assets/lines.mjs";
import { MARGIN, NARROWEST_COLUMN, drawingWidth, lineSvg, notes } from "../../../dashboard/assets/rows.mjs";

const TALA = {
  name: "Rupak", said: "Rupak, 7 matras", matras: 7, vibhags: [1, 4, 6], khali: [[1, 4]],
  marks: [{ matra: 1, label: "0", kind: "khali" }, { matra: 4, label: "1", kind: "tali" }],
  theka: ["Tin", "Tin", "Na", "Dhin", "Na", "Dhin", "Na"],
};
const ROW = { stretch: 0, label: "1", first: 1, key: "k", marked: false, range: null, tihais: 1, phrases: 1, landings: 1 };
const NOTHING = { treble: [], bass: [], pallas: [], links: [], landings: [], aims: [], phrases: [], melody: null };
const LETTERS = [..."SrRgGmMPdDnN"].map((letter) => ({ letter, said: letter, used: true }));
const palla = { id: "t01", n: 1, from: 2, to: 4.5, begins: true, ends: true, lane: 0, status: "confirmed", title: "", notes: [] };
const landing = { id: "t01", lane: 0, x: 0, verdict: "lands", text: "t01 lands", title: "", href: "/t" };

function data(more = {}) {
  const rows = [0, 1].map((i) => ({ ...ROW, key: `k${i}`, t: [0, 1, 2, 3, 4, 5, 6, 7].map((t) => t + 7 * i), ...more }));
  return { rows, strokes: true, swaras: LETTERS, talas: { rupak: TALA }, stretches: [{ title: "gat", tala: "rupak", columns: 7 }] };
}

// Draw a line of the two avartans (the first one, unless another is asked for) with something in its rows.
function draw(detail = {}, { step = AN_AVARTAN, straight = false, line = 0, width = 480, more = {}, silent = false } = {}) {
  const all = { ...data(more), strokes: !silent };
  const lines = linesOf(all, step, straight);
  const known = { ...NOTHING, ...detail, ...(silent ? { treble: null, bass: null } : {}) };
  const layout = lineLayout(lines[line], all, STEPS[step].semitone);
  return lineSvg(lines[line], layout, all, () => (detail === undefined ? undefined : known), width);
}
const px = (x, width = 480, columns = 7) => MARGIN + (x * (width - 2 * MARGIN)) / columns;

test("an avartan fills the width there is, but its columns never run together", () => {
  const [line] = linesOf(data(), AN_AVARTAN, false);
  assert.equal(drawingWidth(line, 660), 660);
  assert.equal(drawingWidth(line, 200), 7 * NARROWEST_COLUMN + 2 * MARGIN);
});

test("a line whose rows are not known yet has its rules and nothing else", () => {
  const all = data();
  const [line] = linesOf(all, AN_AVARTAN, false);
  const svg = lineSvg(line, lineLayout(line, all, 4), all, () => undefined, 480);
  assert.match(svg, /sam-rule/);
  assert.doesNotMatch(svg, /treble|palla/);
});

test("a recording without sound has lines without strokes", () => {
  assert.doesNotMatch(draw({}, { silent: true }), /treble|drum-line/);
});

test("every vibhag is ruled, and sam apart from the others", () => {
  const svg = draw();
  assert.equal(svg.match(/class="sam-rule"/g).length, 1);
  assert.equal(svg.match(/class="vibhag-rule"/g).length, 3); // two inner vibhags and the right end
  assert.equal(svg.match(/class="khali"/g).length, 1);
});

test("from afar matras are not ruled, then vibhags neither, sams always", () => {
  const far = draw({}, { step: 0, width: 200 });
  assert.equal(far.match(/class="sam-rule"/g).length, 2);
  assert.doesNotMatch(far, /matra-rule/);
});

test("a stroke stands at its place, treble above the line and bass below", () => {
  const svg = draw({ treble: [1500, 9], bass: [1500, 9] }, { width: 410 });
  assert.match(svg, new RegExp(`class="treble" d="M${px(1.5, 410)} \\d+v-`));
  assert.match(svg, new RegExp(`class="bass" d="M${px(1.5, 410)} \\d+v\\d`));
});

test("a stroke stands in one line only when a row is cut", () => {
  const strokes = { treble: [0, 9, 2999, 9, 3000, 9, 6999, 9] };
  const count = (line) => draw(strokes, { step: HALF, line }).match(/class="treble" d="([^"]*)"/)[1].split("M").length - 1;
  assert.deepEqual([count(0), count(1)], [2, 2]);
});

test("the melody is drawn in its lane and cut off at its edges", () => {
  const melody = { from_s: 0, step_s: 0.5, cents: [0, 100, 200, 300], unsure: [] };
  const svg = draw({ melody }, { more: { range: [0, 12] } });
  assert.match(svg, /<svg class="melody" x="30"[^>]* height="48"/);
  assert.match(svg, new RegExp(`class="contour" d="M30 48h.1L${px(0.5)} 44L${px(1)} 40L`));
  assert.equal(svg.match(/swara-rule/g).length, 13);
});

test("closer up a line carries the names of its matras, where they have room", () => {
  const svg = draw({}, { step: HALF, line: 1 });
  assert.deepEqual(svg.match(/matra-number"[^>]*>\d/g).map((text) => text.at(-1)), ["4", "5", "6", "7"]);
  assert.match(svg, /<tspan class="sign tali">1 <\/tspan>Dhin/);
  assert.ok(draw({}, { step: HALF, line: 1, width: 130 }).match(/class="bol"/g).length < 4);
});

test("straight on, matras that are played faster stand closer together", () => {
  const rows = data({ t: [0, 1, 2, 3, 4, 4.5, 5, 5.5] }).rows.slice(0, 1);
  const all = { ...data(), rows };
  const [line] = linesOf(all, HALF, true);
  const svg = lineSvg(line, lineLayout(line, all, 4), all, () => NOTHING, 1060);
  const at = [...svg.matchAll(/-rule" x1="([\d.]+)"/g)].map(([, x]) => Number(x));
  assert.deepEqual(at, [30, 130, 230, 330, 430, 480, 530, 580]);
});

test("text from an annotation can never become markup", () => {
  const svg = draw({ phrases: [{ ...palla, text: "<script>", title: '"><b>', role: "" }], landings: [{ ...landing, text: "<i>" }] });
  assert.doesNotMatch(svg, /<script>|<b>|<i>/);
});

const at = (...places) => places.map(([x, text]) => ({ at: x, text }));
const words = (svg) => svg.match(/>[^<]+</g)?.map((text) => text.slice(1, -1)) ?? [];

test("notes that stand close are printed smaller, all alike, before any is left out", () => {
  const svg = notes(at([0, "Dha"], [20, "Te"], [100, "Na"]), 200, 10);
  assert.deepEqual(words(svg), ["Dha", "Te", "Na"]);
  assert.equal(new Set(svg.match(/font-size="[\d.]+"/g)).size, 1);
});

test("notes that have no room are told of by dots, never silently left out", () => {
  assert.deepEqual(words(notes(at([0, "S"], [2, "R"], [60, "G"], [90, "m"]), 200, 10)), ["S…", "G", "m"]);
  assert.deepEqual(words(notes(at([0, "S"], [25, "R"]), 50, 10)), ["S", "R"]);
});

test("where most have no room only the first stands, with dots", () => {
  assert.deepEqual(words(notes(at([0, "S"], [2, "R"], [4, "G"], [6, "m"], [60, "P"]), 100, 10)), ["S…"]);
});

test("a bar too narrow for its first note carries none; where there is room the print is not made smaller", () => {
  assert.equal(notes(at([0, "TiRaKiTa"]), 12, 10), "");
  assert.doesNotMatch(notes(at([0, "S"], [100, "R"]), 200, 10), /font-size/);
});

test("where a tihai was aimed at is drawn only when it did not land there", () => {
  assert.doesNotMatch(draw(), /class="aim"/);
  assert.match(draw({ aims: [{ x: 0, lane: 0, title: "sam" }] }), /class="aim"/);
});

test("a palla says its number where it begins and not where it goes on in the next line", () => {
  assert.match(draw({ pallas: [palla] }), /palla-number/);
  assert.doesNotMatch(draw({ pallas: [{ ...palla, begins: false }] }), /palla-number/);
  const cut = [0, 1].map((line) => draw({ pallas: [{ ...palla, notes: [[2, "R"], [3, "m"]] }] }, { step: HALF, line }));
  assert.deepEqual(cut.map((svg) => svg.includes("palla-number")), [true, false]);
  assert.deepEqual(cut.map((svg) => [svg.includes(">R<"), svg.includes(">m<")]), [[true, false], [false, true]]);
});

test("a landing a little before sam stands beside it, in one line at every closeness", () => {
  STEPS.forEach((_, step) => {
    const lines = linesOf(data(), step, false).filter(({ parts }) => parts[0].row === 0).length;
    const svgs = Array.from({ length: lines }, (_, line) => draw({ landings: [{ ...landing, x: -0.1 }] }, { step, line }));
    const count = svgs.join("").match(/landing-ring/g).length;
    assert.equal(count, STEPS[step].rows > 1 ? 2 : 1); // the same detail stands in both rows of the longer lines
    assert.match(svgs[0], /landing-ring/);
  });
});

test("who found the sam is told by shape", () => {
  assert.match(draw({}, { more: { marked: true } }), /sam-sign marked/);
  assert.match(draw(), /sam-sign tracked/);
  assert.doesNotMatch(draw({}, { step: HALF, line: 1 }), /sam-sign/);
});
