import assert from "node:assert/strict";
import { test } from "node:test";
import { AN_AVARTAN, HALF, linesOf } from "../../../dashboard/assets/lines.mjs";
import { blockMarkup, divided, gutterMarkup, headSvg, placeInWords, titleMarkup } from "../../../dashboard/assets/sheet.mjs";

const DADRA = {
  said: "Dadra", matras: 6, vibhags: [1, 4], khali: [[4, 7]], theka: ["Dha", "Dhi", "Na", "Dha", "Ti", "Na"],
  marks: [{ matra: 1, label: "X", kind: "sam" }, { matra: 4, label: "0", kind: "khali" }],
};
const row = (stretch, label, t) => ({ stretch, label, first: 1, t, range: null });
const DATA = {
  talas: { dadra: DADRA },
  swaras: [],
  stretches: [
    { title: "alap", tala: null, columns: 4, column_s: 5, laya: "" },
    { title: "gat <1>", tala: "dadra", columns: 6, laya: "60 matras a minute" },
  ],
  rows: [row(0, "", [0, 5, 10, 15, 20]), row(1, "1", [20, 21, 22, 23, 24, 25, 26]), row(1, "2", [26, 27, 28, 29, 30, 31, 32])],
};
const LINES = linesOf(DATA, AN_AVARTAN, false);

test("the head names the theka and its signs", () => {
  const svg = headSvg(LINES[1], DATA.stretches[1], DADRA, 480);
  assert.equal(svg.match(/class="bol"/g).length, 6);
  assert.match(svg, /sign sam sam/);
  assert.match(headSvg(LINES[0], DATA.stretches[0], null, 480), /\+15 s/);
});

test("from afar the head keeps the signs and drops the bols", () => {
  const [line] = linesOf(DATA, AN_AVARTAN - 3, false).slice(1);
  const svg = headSvg(line, DATA.stretches[1], DADRA, 300);
  assert.doesNotMatch(svg, /class="bol"/);
  assert.equal(svg.match(/sign sam/g).length, 8);
});

test("each line has its number and its time, each stretch its title, none of it markup", () => {
  assert.match(gutterMarkup(LINES[2], { melody: null, height: 50 }, DATA, 84), /<b>2<\/b><span>0:26\.0<\/span>/);
  assert.match(gutterMarkup(LINES[2], { melody: null, height: 50 }, DATA, 62), /<span>0:26<\/span>/);
  assert.match(titleMarkup(DATA.stretches[1]), /gat &lt;1&gt; .*60 matras a minute/);
});

test("a narrow sheet leaves more of its width to the drawings", () => {
  for (const width of [358, 560, 900]) {
    const { gutter, side, body } = divided(width);
    assert.equal(gutter + side + body, width);
  }
  assert.ok(divided(358).gutter < divided(900).gutter);
});

test("the place is said in the trade's words", () => {
  assert.equal(placeInWords(DATA, { row: 2, x: 3.5 }), "avartan 2, matra 4.50");
  assert.equal(placeInWords(DATA, { row: 0, x: 1 }), "alap");
  assert.equal(placeInWords(DATA, null), "");
});

test("a block is headed by its title, the theka and the scale of the laya, whose unit is named", () => {
  const markup = blockMarkup(LINES[1], DATA.stretches[1], DADRA, { low: 60, high: 80 }, { body: 480, side: 64 });
  assert.match(markup, /<h3>gat &lt;1&gt;/);
  assert.match(markup, />matras\/min<.*>60<.*>80</);
  assert.match(markup, /class="bol"/);
});

test("where the lines name their matras themselves the title stands in the strip that stays in sight", () => {
  const [line] = linesOf(DATA, HALF, false).filter(({ stretch }) => stretch === 1);
  const markup = blockMarkup(line, DATA.stretches[1], DADRA, null, { body: 480, side: 40 });
  assert.match(markup, /^<h3><\/h3>.*<h3 class="stretch-name">gat/);
  assert.doesNotMatch(markup, /class="bol"/);
});
