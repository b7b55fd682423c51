import assert from "node:assert/strict";
import { test } from "node:test";
import { contourPaths, ruledSwaras, swaraNames, swarasIn, symbolOf, yOf } from "../../../dashboard/assets/contour.mjs";

const LETTERS = [..."SrRgGmMPdDnN"];
const DESH = LETTERS.map((letter) => ({ letter, said: `full name of ${letter}`, used: "SRGmPDnN".includes(letter) }));
const lane = (low, high, semitone = 4) => ({ top: 10, low, high, semitone, height: (high - low) * semitone });
const course = (cents, unsure = []) => ({ from_s: 0, step_s: 0.02, cents, unsure });
const drawn = (melody, from_s = 0, to_s = 1) => contourPaths(melody, lane(0, 12), from_s, to_s, (time_s) => 1000 * time_s);
const pieces = (path) => path.split("M").length - 1;

test("higher pitches stand higher, Sa of the upper octave at the top of an octave's lane", () => {
  assert.equal(yOf(lane(0, 12), 1200), 10);
  assert.equal(yOf(lane(0, 12), 0), 58);
});

test("only the raga's swaras are ruled, octave by octave, Sa apart from the others", () => {
  const found = swarasIn(lane(-3, 13), DESH).map(({ letter, octave }) => symbolOf(letter, octave));
  assert.deepEqual(found, [".D", ".n", ".N", "S", "R", "G", "m", "P", "D", "n", "N", "S'"]);
  const svg = ruledSwaras(lane(-3, 13), DESH, 0, 100);
  assert.equal(svg.match(/swara-rule sa/g).length, 2);
  assert.equal(svg.match(/<line/g).length, 12);
});

test("from afar only Sa is ruled and named", () => {
  assert.equal(ruledSwaras(lane(0, 12, 2), DESH, 0, 100).match(/<line/g).length, 2);
  assert.deepEqual(swaraNames(lane(0, 12, 2), DESH, 80).match(/<\/title>[^<]+/g), ["</title>S", "</title>S'"]);
});

test("names keep off each other, and Sa is always named", () => {
  const svg = swaraNames(lane(-5, 14, 4), DESH, 80);
  const places = [...svg.matchAll(/x="([\d.]+)" y="([\d.]+)"/g)].map(([, x, y]) => [Number(x), Number(y)]);
  places.forEach(([x, y], i) => places.slice(i + 1).forEach(([x2, y2]) => assert.ok(x !== x2 || Math.abs(y - y2) >= 8.9)));
  assert.match(svg, />S</);
  assert.match(svg, />S'</);
  assert.match(svg, /full name of P/);
});

test("two octaves below and above are marked by two signs and no more", () => {
  assert.deepEqual([-3, -1, 0, 1, 2].map((octave) => symbolOf("P", octave)), ["..P", ".P", "P", "P'", "P''"]);
});

test("a glide is one line", () => {
  assert.equal(pieces(drawn(course([0, 50, 120, 200])).sure), 1);
});

test("silence is a gap", () => {
  const { sure } = drawn(course([0, 0, null, null, 0, 0]));
  assert.equal(pieces(sure), 2);
});

test("a leap from one frame to the next is no glide", () => {
  assert.equal(pieces(drawn(course([0, 0, 700, 700])).sure), 2);
});

test("where it may not be the lead the line is another one, joined to the sure one", () => {
  const { sure, unsure } = drawn(course([0, 0, 10, 20, 20, 20], [[2, 4]]));
  assert.equal(pieces(sure), 2);
  assert.equal(unsure, "M20 58L40 57.6L60 57.2");
  assert.ok(sure.endsWith("M60 57.2L80 57.2L100 57.2"));
});

test("only what lies between the two times is drawn", () => {
  assert.equal(drawn(course(Array(100).fill(0)), 0.5, 0.6).sure.split("L").length, 6);
  assert.deepEqual(drawn(course([]), 0, 1), { sure: "", unsure: "" });
});
