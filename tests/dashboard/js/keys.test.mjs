import assert from "node:assert/strict";
import { test } from "node:test";
import { agoOf, bound, listed, nameOf, printed } from "../../../dashboard/assets/keys.mjs";

const PAGE = { typing: false, pressable: false, choosing: false };

test("keys belong to the field while someone types, and space to the button that has the focus", () => {
  assert.equal(nameOf({ key: "s" }, { ...PAGE, typing: true }), null);
  assert.equal(nameOf({ key: " " }, { ...PAGE, pressable: true }), null);
  assert.equal(nameOf({ key: "Enter" }, { ...PAGE, pressable: true }), null);
  assert.equal(nameOf({ key: "s" }, { ...PAGE, pressable: true }), "s");
  assert.equal(nameOf({ key: " " }, PAGE), "Space");
});

test("arrows belong to a slider or a choice that has the focus", () => {
  assert.equal(nameOf({ key: "ArrowLeft" }, { ...PAGE, choosing: true }), null);
  assert.equal(nameOf({ key: "ArrowLeft" }, PAGE), "ArrowLeft");
});

test("commands of the browser are left alone", () => {
  for (const held of ["ctrlKey", "metaKey", "altKey"]) assert.equal(nameOf({ key: "s", [held]: true }, PAGE), null);
});

test("undo and redo are named, but not while someone types: there they belong to the field", () => {
  assert.equal(nameOf({ key: "z", ctrlKey: true }, PAGE), "Ctrl+z");
  assert.equal(nameOf({ key: "Z", metaKey: true, shiftKey: true }, PAGE), "Ctrl+Shift+z");
  assert.equal(nameOf({ key: "y", ctrlKey: true }, PAGE), "Ctrl+y");
  assert.equal(nameOf({ key: "z", ctrlKey: true }, { ...PAGE, typing: true }), null);
  assert.equal(nameOf({ key: "z", ctrlKey: true, altKey: true }, PAGE), null);
});

test("capital letters mean the same, a key held down counts once, arrows go on", () => {
  assert.equal(nameOf({ key: "S", shiftKey: true }, PAGE), "s");
  assert.equal(nameOf({ key: "?", shiftKey: true }, PAGE), "?");
  assert.equal(nameOf({ key: "s", repeat: true }, PAGE), null);
  assert.equal(nameOf({ key: "ArrowLeft", shiftKey: true, repeat: true }, PAGE), "Shift+ArrowLeft");
});

test("names are shown as they are printed on keyboards", () => {
  assert.equal(printed("Shift+ArrowLeft"), "Shift ←");
  assert.equal(printed("Escape"), "Esc");
  assert.equal(printed("s"), "s");
});

const GROUPS = [
  { heading: "Listen", entries: [{ key: ["a", "b"], words: "one" }, { key: "c", words: "two", when: () => false }] },
  { heading: "Nothing now", entries: [{ key: "d", words: "three", when: () => false }] },
  { heading: "Panel", entries: [{ key: "a", words: "four", when: () => true }] },
];

test("the list has what does something now, and no heading over nothing", () => {
  assert.deepEqual(listed(GROUPS), [
    { heading: "Listen", keys: [["a  b", "one"]] },
    { heading: "Panel", keys: [["a", "four"]] },
  ]);
});

test("of two that are bound to a key the one bound last answers, if it does anything now", () => {
  assert.equal(bound(GROUPS, "a").words, "four");
  assert.equal(bound(GROUPS, "b").words, "one");
  assert.equal(bound(GROUPS, "c"), null);
  assert.equal(bound(GROUPS, "x"), null);
});

test("what several modules bind under one heading stands together", () => {
  const entry = (key) => ({ key, words: `does ${key}` });
  const groups = [{ heading: "Go", entries: [entry("f")] }, { heading: "Look", entries: [entry("z")] }, { heading: "Go", entries: [entry("g")] }];
  assert.deepEqual(listed(groups), [
    { heading: "Go", keys: [["f", "does f"], ["g", "does g"]] },
    { heading: "Look", keys: [["z", "does z"]] },
  ]);
});

test("a plus is printed as one, also with another key held down", () => {
  assert.equal(printed("+"), "+");
  assert.equal(printed("Shift++"), "Shift +");
});

test("a key is as old as its event, but not after a standstill, nor younger than now", () => {
  assert.equal(agoOf(1000, 1250), 0.25);
  assert.equal(agoOf(1000, 1000), 0);
  assert.equal(agoOf(1000, 999), 0);
  assert.equal(agoOf(1000, 9000), 0);
});
