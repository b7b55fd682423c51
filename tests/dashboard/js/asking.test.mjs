// The choices of the page on which tihais are composed, as an address holds them.
import assert from "node:assert/strict";
import { test } from "node:test";
import { asking, changed, has, neighbour } from "../../../dashboard/assets/asking.mjs";

test("a choice that is emptied leaves the address, others stay", () => {
  assert.equal(changed("?tala=rupak&longest=5", [["longest", " "], ["dam_to", "2 1/2"]]), "tala=rupak&dam_to=2+1%2F2");
});

test("the opened piece stays while the tala does, and goes with it", () => {
  const search = "tala=rupak&plays=S&at=1&kept=fives&laya=90";
  assert.equal(new URLSearchParams(asking(search, [["tala", "rupak"], ["to", "4"]])).get("plays"), "S");
  const other = new URLSearchParams(asking(search, [["tala", "jhaptal"]]));
  assert.deepEqual([...other.keys()].sort(), ["laya", "tala"]);
  assert.equal(new URLSearchParams(asking("plays=S", [["tala", "teental"]])).get("plays"), "S");
});

test("one goes from solution to solution and stays at the ends", () => {
  const keys = ["a", "b", "c"];
  assert.deepEqual([neighbour(keys, null, 1), neighbour(keys, "b", 1), neighbour(keys, "c", 1)], ["a", "c", "c"]);
  assert.deepEqual([neighbour(keys, null, -1), neighbour(keys, "a", -1), neighbour([], "a", 1)], ["c", "a", null]);
});

test("what is looked for may stand in any order, with any kind of space, and a number is a whole one", () => {
  assert.ok(has("palla 5\u00a01/2, no dam: bedam", "BEDAM, 5 1/2"));
  assert.ok(!has("palla 5, dam 1", "dam 2"));
  assert.ok(!has("palla 5, dam 12", "dam 1"));
  assert.ok(has("dam 12; dam 1", "dam 1"));
  assert.ok(has("anything", " , "));
});
