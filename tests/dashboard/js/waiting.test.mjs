import assert from "node:assert/strict";
import { test } from "node:test";
import { isWorth, nameOfKept, read, said } from "../../../dashboard/assets/waiting.mjs";

const NOW = new Date(2026, 2, 7, 18, 0).getTime();
const USUAL = { "mark-target": "1" };
const kept = (more) => ({ at: NOW - 120000, fields: {}, form: null, ...more });

test("what stands in the fields from the beginning is nothing to keep", () => {
  assert.equal(isWorth(kept({ fields: { "mark-sams": " ", "mark-target": "1" } }), USUAL), false);
  assert.equal(isWorth(kept({ fields: { "mark-sams": "11.05", "mark-target": "1" } }), USUAL), true);
  assert.equal(isWorth(kept({ form: { table: "tihais", key: "t01", seen: 3, fields: { dam: "1" } } }), USUAL), true);
});

test("marks are counted, and their age is told by the calendar", () => {
  const marks = { "mark-sams": "11.05 14.5", "mark-start-1": "18.0", "mark-landing": "" };
  assert.equal(said(kept({ fields: marks }), NOW), "3 marks from 2 minutes ago");
  assert.equal(said(kept({ fields: { "mark-sams": "1" }, at: NOW - 20 * 3600000 }), NOW), "1 mark from yesterday");
  assert.equal(said(kept({ fields: { "mark-sams": "1" }, at: NOW - 50 * 3600000 }), NOW), "1 mark from 2 days ago");
  assert.equal(said(kept({ fields: { "mark-sams": "1" }, at: NOW - 3 * 3600000 }), NOW), "1 mark from 3 hours ago");
});

test("changes of a row that was open are told by its name", () => {
  const form = { table: "tihais", key: "t02", seen: 3, fields: { dam: "1" } };
  assert.equal(said(kept({ form, at: NOW }), NOW), "changes of tihai t02 from just now");
  assert.equal(said(kept({ fields: { "mark-palla": "R m P" }, at: NOW }), NOW), "a tihai being written from just now");
});

test("what is kept is read back, and what is anything else is nothing", () => {
  const marks = kept({ fields: { "mark-sams": "1" } });
  assert.deepEqual(read(JSON.stringify(marks)), marks);
  for (const text of [null, "", "{", "3", "null", '{"at": 1}', '{"at": 1, "fields": {"a": 2}, "form": null}', '{"at": 1, "fields": {}, "form": {"seen": "x"}}']) {
    assert.equal(read(text), null, text);
  }
});

test("people who share a browser, and recordings, are kept apart", () => {
  assert.notEqual(nameOfKept("Nirvani", "one"), nameOfKept("Obeyan", "one"));
  assert.notEqual(nameOfKept("Nirvani", "one"), nameOfKept("Nirvani", "two"));
});
