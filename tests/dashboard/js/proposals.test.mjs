import assert from "node:assert/strict";
import { test } from "node:test";
import { beside, countWords, following, runWords, shownOf } from "../../../dashboard/assets/proposals.mjs";

const proposal = (key, at_s, status = "waiting") => ({ key, at_s, status });
const ALL = [proposal("b", 40), proposal("a", 10, "accepted"), proposal("c", 30), proposal("d", 20, "rejected")];
const keys = (list) => list.map(({ key }) => key);

test("those that wait are shown with the likeliest first, or all of them as they are played", () => {
  assert.deepEqual(keys(shownOf(ALL, { status: "waiting", order: "likeliest" })), ["b", "c"]);
  assert.deepEqual(keys(shownOf(ALL, { status: "all", order: "likeliest" })), ["b", "a", "c", "d"]);
  assert.deepEqual(keys(shownOf(ALL, { status: "all", order: "time" })), ["a", "d", "c", "b"]);
});

test("the one that is open stays in the list once it is decided", () => {
  assert.deepEqual(keys(shownOf(ALL, { status: "waiting", order: "likeliest" }, "a")), ["b", "a", "c"]);
});

test("the keys go one back and one on, and stop at the ends", () => {
  assert.equal(beside(ALL, "a", 1).key, "c");
  assert.equal(beside(ALL, "a", -1).key, "b");
  assert.equal(beside(ALL, "d", 1), null);
  assert.equal(beside(ALL, null, 1).key, "b");
  assert.equal(beside([], null, 1), null);
});

test("after a decision comes the next that waits, else the first, else none", () => {
  assert.equal(following(ALL, "b").key, "c");
  assert.equal(following(ALL, "c").key, "b");
  assert.equal(following([ALL[1], ALL[2]], "c"), null);
});

test("how many there are of each, and how far a run is, stands in words", () => {
  assert.equal(countWords(ALL), "2 wait, 1 accepted, 1 rejected");
  assert.equal(countWords([ALL[0]]), "1 waits, 0 accepted, 0 rejected");
  assert.equal(runWords({ share: 0.42 }), "Looking for tihais: 42 %");
  assert.match(runWords({ share: 0 }), /^Following/);
  assert.match(runWords({ share: null }), /first/);
});
