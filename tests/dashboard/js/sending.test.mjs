// Sending files in pieces, and telling how far things are.
import assert from "node:assert/strict";
import { test } from "node:test";
import { commonTitle, leftWords, nextPiece, orderWords, roleFrom, sentWords, titleFrom } from "../../../dashboard/assets/sending.mjs";

test("pieces follow each other to the end of the file, and an empty rest is none", () => {
  assert.deepEqual(nextPiece(10, 0, 4), { from: 0, to: 4 });
  assert.deepEqual(nextPiece(10, 8, 4), { from: 8, to: 10 });
  assert.equal(nextPiece(10, 10, 4), null);
});

test("the title of sides of a tape is what their names have in common, without words that number them", () => {
  assert.equal(commonTitle(["desh 1978 side-a.flac", "desh 1978 side-b.flac"]), "desh 1978".replace(" 1978", ""));
  assert.equal(commonTitle(["winter_evening.wav"]), "winter evening");
  assert.equal(commonTitle(["one.wav", "two.wav"]), "one");
  assert.equal(titleFrom("Raga no. 5"), "Raga no. 5");
});

test("stems are told by their names", () => {
  assert.deepEqual(["evening tabla.wav", "evening_tanpura.wav", "evening mandolin.wav", "evening.wav"].map(roleFrom), ["tabla", "drone", "melody", "whole"]);
});

test("the time left is told roughly, and not at all where nothing is known", () => {
  assert.deepEqual([null, 2, 42, 130, 4200].map(leftWords), ["", "about 5 s left", "about 40 s left", "about 2 min left", "about 1 h 10 min left"]);
});

test("what is in hand is told by its stage, its share and the time left, or by what it waits for", () => {
  const waiting = { became: "waiting", ahead: 0, said: "" };
  assert.equal(orderWords({ ...waiting, stage: "following the melody", overall: 0.437, left_s: 61 }), "following the melody, 43 %, about 1 min left");
  assert.equal(orderWords({ ...waiting, ahead: 2 }), "It waits for 2 others.");
  assert.equal(orderWords({ became: "failed", said: "It is damaged." }), "It is damaged.");
});

test("a file is on its way, then looked at, then sent", () => {
  const file = { size: 8 };
  assert.equal(sentWords({ file, received: 3, whole: false }), "37 % sent");
  assert.equal(sentWords({ file, received: 8, whole: false }), "sent, being looked at");
  assert.equal(sentWords({ file, received: 8, whole: true }), "sent");
});
