// Orders changed by steps, and forms that were not saved.
import assert from "node:assert/strict";
import { test } from "node:test";
import { differs, keptAs, keptOf, moved } from "../../../dashboard/assets/courses.mjs";

test("an item moves by steps and stays at the ends; nothing is lost and nothing doubled", () => {
  assert.deepEqual(moved(["a", "b", "c"], "c", -1), ["a", "c", "b"]);
  assert.deepEqual(moved(["a", "b", "c"], "a", 1), ["b", "a", "c"]);
  assert.deepEqual(moved(["a", "b", "c"], "a", -1), ["a", "b", "c"]);
  assert.deepEqual(moved(["a", "b", "c"], "a", 9), ["b", "c", "a"]);
  assert.deepEqual(moved(["a", "b"], "x", 1), ["a", "b"]);
});

test("a form differs from what was saved in its title, its notes, or its pieces and their order", () => {
  const saved = { title: "t", notes: "n", pieces: ["a/t01", "a/t02"] };
  assert.equal(differs(saved, { ...saved, pieces: [...saved.pieces] }), false);
  for (const change of [{ title: "u" }, { notes: "" }, { pieces: ["a/t02", "a/t01"] }, { pieces: ["a/t01"] }]) {
    assert.equal(differs(saved, { ...saved, ...change }), true);
  }
});

test("what was kept of a form is read back, and anything else is nothing", () => {
  const form = { title: "t", notes: "n", pieces: ["a/t01"], seen: 3 };
  assert.deepEqual(keptOf(JSON.stringify(form)), form);
  for (const text of [null, "", "{", "[]", "null", '{"title":1}', JSON.stringify({ ...form, pieces: [1] }), JSON.stringify({ ...form, seen: "3" })]) {
    assert.equal(keptOf(text), null);
  }
});

test("forms of different courses and chapters are kept apart", () => {
  assert.notEqual(keptAs("a", "1"), keptAs("a", "2"));
});
