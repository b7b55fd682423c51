// The outline of a folded page as it travels -> as the page uses it; and what is new in a later one.
//
// Conventions: times travel as ticks of 0.1 ms, the first one and then from one to the next, and become seconds here. A row's
// `key` changes with anything that is drawn in it.

const TICKS_IN_S = 10000;

export function timesOf(ticks) {
  let sum = 0;
  return ticks.map((each) => (sum += each) / TICKS_IN_S);
}

export function unpack(outline) {
  const rows = outline.rows.map(({ ticks, ...row }) => ({ ...row, t: timesOf(ticks) }));
  return { at_s: null, ...outline, rows };
}

// How many rows of a later outline are not in an earlier one.
export function changedRows(before, after) {
  const known = new Set(before.rows.map((row) => row.key));
  return after.rows.filter((row) => !known.has(row.key)).length;
}
