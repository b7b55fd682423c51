// Which of the two channels of a recording are heard, and where.
//
// Conventions: `matrix` is [left to left, right to left, left to right, right to right]. One channel alone, and mid and side,
// are heard on both sides. Mid is half the sum and side half the difference, so that mid + side is left again.

export const EARS = [
  { key: "both", words: "both channels, each on its side", matrix: [1, 0, 0, 1] },
  { key: "left", words: "left alone", matrix: [1, 0, 1, 0] },
  { key: "right", words: "right alone", matrix: [0, 1, 0, 1] },
  { key: "mid", words: "mid: what both have in common", matrix: [0.5, 0.5, 0.5, 0.5] },
  { key: "side", words: "side: what differs between them", matrix: [0.5, -0.5, 0.5, -0.5] },
];

export const earOf = (key) => EARS.find((ear) => ear.key === key) ?? EARS[0];
export const nextEar = (key) => EARS[(EARS.indexOf(earOf(key)) + 1) % EARS.length].key;
