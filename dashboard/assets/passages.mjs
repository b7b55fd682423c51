// Stretches of a recording written in an attribute: "12.5-14 16-17.25", in seconds.

// [{from_s, to_s}]; what cannot be read, or ends before it begins, is left out.
export function readPassages(text) {
  return text
    .trim()
    .split(/\s+/)
    .map((word) => word.split("-").map(Number))
    .filter(([from_s, to_s]) => from_s >= 0 && to_s > from_s)
    .map(([from_s, to_s]) => ({ from_s, to_s }));
}
