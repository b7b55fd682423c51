import assert from "node:assert/strict";
import { test } from "node:test";
import { field, heard, written } from "../../../dashboard/assets/echoes.mjs";

test("a late answer to what was written first does not undo what was written since", () => {
  let start = written(written(field(""), "13.500"), "13.750");
  start = heard(start, ""); // another field was drawn meanwhile
  assert.equal(start.text, "13.750");
  start = heard(start, "13.500");
  assert.equal(start.text, "13.750");
  start = heard(start, "13.750");
  assert.deepEqual(start, field("13.750"));
});

test("what Dash writes itself is taken over: a field that was saved is emptied", () => {
  const saved = heard(heard(written(field(""), "13.500"), "13.500"), "");
  assert.deepEqual(saved, field(""));
});

test("answers may be left out when two writings are drawn at once", () => {
  const start = heard(written(written(written(field(""), "1.000"), "2.000"), "3.000"), "3.000");
  assert.deepEqual(start, field("3.000"));
});

test("writing what is there already asks for no answer", () => {
  assert.deepEqual(written(field("5.000"), "5.000"), field("5.000"));
});

test("what is typed letter by letter is not shortened by an answer for fewer letters", () => {
  const typed = ["1", "13", "13."].reduce(written, field(""));
  assert.equal(heard(typed, "13").text, "13.");
});
