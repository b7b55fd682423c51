import assert from "node:assert/strict";
import { test } from "node:test";
import {
  MARGIN, NARROWEST_COLUMN, columnWidth, drawingWidth, headSvg, notes, rowLayout, rowSvg, toColumns, toPx,
} from "../../../dashboard/assets/rows.mjs";

const TALA = {
  name: "Rupak", said: "Rupak, 7 matras", matras: 7, vibhags: [1, 4, 6], khali: [[1, 4]],
  marks: [{ matra: 1, label: "0", kind: "khali" }, { matra: 4, label: "1", kind: "tali" }],
  theka: ["Tin", "Tin", "Na", "Dhin", "Na", "Dhin", "Na"],
};
const STRETCH = { columns: 7, tala: "rupak", column_s: 5 };
const PLAIN = {
  first: 1, t: [0, 1, 2, 3, 4, 5, 6, 7], treble: [], bass: [], pallas: [], links: [], landings: [], aims: [], phrases: [], marked: false,
};
const palla = { id: "t01", n: 1, from: 2, to: 4.5, begins: true, ends: true, lane: 0, status: "confirmed", title: "", notes: [] };

test("columns fill the width there is, but never run together", () => {
  assert.equal(columnWidth(10, 660), 60);
  assert.equal(columnWidth(16, 300), NARROWEST_COLUMN);
  assert.ok(drawingWidth(16, 300) > 300);
});

test("px and columns are each other's inverse and sam stands at the margin", () => {
  assert.equal(toPx(0, 50), MARGIN);
  assert.equal(toColumns(toPx(3.25, 50), 50), 3.25);
});

test("a row is only as high as what runs through it", () => {
  const bare = rowLayout(PLAIN).height;
  const one = rowLayout({ ...PLAIN, pallas: [palla] }).height;
  const two = rowLayout({ ...PLAIN, pallas: [palla, { ...palla, lane: 1 }] }).height;
  assert.ok(bare < one && one < two);
  assert.equal(two - one, one - bare);
});

test("a recording without sound has rows without strokes", () => {
  const silent = { ...PLAIN, treble: null, bass: null };
  assert.ok(rowLayout(silent).height < rowLayout(PLAIN).height);
  assert.doesNotMatch(rowSvg(silent, STRETCH, TALA, 480), /treble|drum-line/);
});

test("every vibhag is ruled, and sam apart from the others", () => {
  const svg = rowSvg(PLAIN, STRETCH, TALA, 480);
  assert.equal(svg.match(/class="sam-rule"/g).length, 1);
  assert.equal(svg.match(/class="vibhag-rule"/g).length, 3); // two inner vibhags and the right end
  assert.equal(svg.match(/class="khali"/g).length, 1);
});

test("a stroke stands at its place, treble above the line and bass below", () => {
  const svg = rowSvg({ ...PLAIN, treble: [150, 9], bass: [150, 9] }, STRETCH, TALA, 410);
  const x = toPx(1.5, columnWidth(7, 410));
  assert.match(svg, new RegExp(`class="treble" d="M${x} \\d+v-`));
  assert.match(svg, new RegExp(`class="bass" d="M${x} \\d+v\\d`));
});

test("the head names the theka and its signs", () => {
  const svg = headSvg(STRETCH, TALA, 480);
  assert.match(svg, />Dhin</);
  assert.match(svg, /sign khali sam/);
  assert.match(headSvg({ columns: 4, column_s: 5 }, null, 480), /\+15 s/);
});

test("text from an annotation can never become markup", () => {
  const row = { ...PLAIN, phrases: [{ ...palla, text: "<script>", title: '"><b>', role: "" }] };
  assert.doesNotMatch(rowSvg(row, STRETCH, TALA, 480), /<script>|<b>/);
});

test("notes that stand close are printed smaller, all alike, before any is left out", () => {
  const svg = notes([[0, "Dha"], [0.4, "Te"], [2, "Na"]], 50, 10);
  assert.deepEqual(svg.match(/>[^<]+</g), [">Dha<", ">Te<", ">Na<"]);
  assert.equal(new Set(svg.match(/font-size:[\d.]+px/g)).size, 1);
});

test("notes that have no room are told of by dots, never silently left out", () => {
  const svg = notes([[0, "S"], [0.05, "R"], [0.1, "G"], [1, "m"]], 50, 10);
  assert.deepEqual(svg.match(/>[^<]+</g), [">S…<", ">m<"]);
  assert.deepEqual(notes([[0, "S"], [0.5, "R"]], 50, 10).match(/>[^<]+</g), [">S<", ">R<"]);
});

test("where a tihai was aimed at is drawn only when it did not land there", () => {
  assert.doesNotMatch(rowSvg(PLAIN, STRETCH, TALA, 480), /class="aim"/);
  assert.match(rowSvg({ ...PLAIN, aims: [{ x: 0, lane: 0, title: "sam" }] }, STRETCH, TALA, 480), /class="aim"/);
});

test("a palla says its number where it begins and not where it goes on in the next row", () => {
  const draw = (p) => rowSvg({ ...PLAIN, pallas: [p] }, STRETCH, TALA, 480);
  assert.match(draw(palla), /palla-number/);
  assert.doesNotMatch(draw({ ...palla, begins: false }), /palla-number/);
});

test("who found the sam is told by shape", () => {
  assert.match(rowSvg({ ...PLAIN, marked: true }, STRETCH, TALA, 480), /sam-sign marked/);
  assert.match(rowSvg(PLAIN, STRETCH, TALA, 480), /sam-sign tracked/);
  assert.doesNotMatch(rowSvg({ ...PLAIN, first: 4 }, STRETCH, TALA, 480), /sam-sign/);
});
