// What the list of performances is asked for, as an address holds it.
import assert from "node:assert/strict";
import { test } from "node:test";
import { choicesIn, chosen } from "../../../dashboard/assets/listing.mjs";

test("the choices of the form take the place of those in the address; the order stays, and the list begins at its top", () => {
  assert.equal(chosen("?raga=desh&needs=1&sort=title&from=61", [["raga", ""], ["find", " cool "]]), "sort=title&find=cool");
});

test("the form shows what the address says", () => {
  assert.deepEqual(choicesIn("?raga=desh&needs=1&sort=title"), { find: "", raga: "desh", tala: "", musician: "", year: "", needs: "1" });
});
