import assert from "node:assert/strict";
import { test } from "node:test";
import { back, forth, noSteps, stepped } from "../../../dashboard/assets/steps.mjs";

test("steps are taken back one by one and brought back in the same order", () => {
  let steps = stepped(stepped(noSteps(), "none"), "one");
  const first = back(steps, "two");
  assert.equal(first.state, "one");
  const second = back(first.steps, first.state);
  assert.equal(second.state, "none");
  assert.equal(back(second.steps, second.state), null);
  const again = forth(second.steps, second.state);
  assert.equal(again.state, "one");
  assert.equal(forth(again.steps, again.state).state, "two");
});

test("a new step ends what can be brought back", () => {
  const { steps } = back(stepped(noSteps(), "none"), "one");
  assert.equal(forth(stepped(steps, "none"), "other"), null);
});
