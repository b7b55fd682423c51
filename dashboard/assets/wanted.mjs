// Which rows to ask the server for next.
//
// Conventions: rows are asked for in blocks that begin at multiples of BLOCK, so that an answer kept by the browser can be used
// again; a column is drawn in so many steps as it has px, in powers of four.

export const BLOCK = 24;
const STEPS = [4, 16, 64, 256, 1024];

export const cellsFor = (column_px) => STEPS.find((cells) => cells >= column_px * 0.9) ?? STEPS.at(-1);

// Blocks [from, to) in which a row between `first` and `last` is missing, those in view (`near`, `far`) first.
export function blocksOf(first, last, isThere, [near, far]) {
  const blocks = [];
  for (let from = Math.floor(first / BLOCK) * BLOCK; from < last; from += BLOCK) {
    const [a, b] = [Math.max(from, first), Math.min(from + BLOCK, last)];
    let missing = false;
    for (let row = a; row < b && !missing; row += 1) missing = !isThere(row);
    if (missing) blocks.push([from, from + BLOCK]);
  }
  const away = ([from, to]) => Math.max(near - to, from - far, 0);
  return blocks.sort((a, b) => away(a) - away(b));
}
