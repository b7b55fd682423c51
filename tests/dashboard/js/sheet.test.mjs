import assert from "node:assert/strict";
import { test } from "node:test";
import { GUTTER, MARGIN } from "../../../dashboard/assets/rows.mjs";
import { bodyWidth, cursorPx, placeInWords, sheetMarkup } from "../../../dashboard/assets/sheet.mjs";

const row = (stretch, label, t) => ({
  stretch, label, first: 1, t, treble: [], bass: [], pallas: [], links: [], landings: [], aims: [], phrases: [], marked: false,
});
const DATA = {
  talas: { dadra: { said: "Dadra", matras: 6, vibhags: [1, 4], khali: [[4, 7]], marks: [], theka: ["Dha", "Dhi", "Na", "Dha", "Ti", "Na"] } },
  stretches: [
    { title: "alap", tala: null, columns: 4, column_s: 5, laya: "" },
    { title: "gat <1>", tala: "dadra", columns: 6, laya: "60 matras a minute" },
  ],
  rows: [row(0, "", [0, 5, 10, 15, 20]), row(1, "1", [20, 21, 22, 23, 24, 25, 26]), row(1, "2", [26, 27, 28, 29, 30, 31, 32])],
};

test("each stretch has its own head, each row its number and its time", () => {
  const markup = sheetMarkup(DATA, 800);
  assert.equal(markup.match(/<section/g).length, 2);
  assert.equal(markup.match(/<\/section>/g).length, 2);
  assert.equal(markup.match(/data-row=/g).length, 3);
  assert.match(markup, /<b>2<\/b><span>0:26\.0<\/span>/);
  assert.match(markup, /gat &lt;1&gt;/);
});

test("an empty recording makes an empty sheet", () => {
  assert.equal(sheetMarkup({ talas: {}, stretches: [], rows: [] }, 800), "");
});

test("the cursor stands at the margin on sam and runs to the other margin at the end of the row", () => {
  const width = 800;
  assert.equal(cursorPx(0, DATA.stretches[1], width), MARGIN);
  assert.equal(cursorPx(6, DATA.stretches[1], width), bodyWidth(width) - MARGIN);
  assert.equal(bodyWidth(width), width - GUTTER);
});

test("the place is said in the trade's words", () => {
  assert.equal(placeInWords(DATA, { row: 2, x: 3.5 }), "avartan 2, matra 4.50");
  assert.equal(placeInWords(DATA, { row: 0, x: 1 }), "alap");
  assert.equal(placeInWords(DATA, null), "");
});
