import assert from "node:assert/strict";
import { test } from "node:test";
import { formatClock, formatSeconds, parseClock } from "../../../dashboard/assets/clock.mjs";

test("a clock shows minutes, seconds and tenths, and hours when there are any", () => {
  assert.equal(formatClock(0), "0:00.0");
  assert.equal(formatClock(62.49), "1:02.4");
  assert.equal(formatClock(3723.5), "1:02:03.5");
  assert.equal(formatClock(59.999, 0), "0:59");
  assert.equal(formatClock(-1), "0:00.0");
});

test("a time that floating point makes a hair too small is not shown a tenth early", () => {
  assert.equal(formatClock(0.1 + 0.7 - 0.5), "0:00.3");
});

test("times are read as people type them", () => {
  assert.equal(parseClock("62.5"), 62.5);
  assert.equal(parseClock(" 1:02.5 "), 62.5);
  assert.equal(parseClock("1:02:03"), 3723);
});

test("what is not a time is not guessed at", () => {
  for (const text of ["", "abc", "1:2:3:4", "-5", "1.5:20", "1:", "1e3"]) assert.equal(parseClock(text), null, text);
});

test("seconds are shown to the millisecond and read back the same", () => {
  assert.equal(formatSeconds(12.34567), "12.346");
  assert.equal(parseClock(formatSeconds(12.346)), 12.346);
});
