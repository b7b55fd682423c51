// Moving a mark a little: along the grid by parts of a matra, and the words for how far it went.
//
// Conventions: rows as in fold.mjs; times in seconds from the start of the recording, kept to a tenth of a millisecond.
import { locate, timeAt } from "./fold.mjs";

export const toTick = (time_s) => Math.round(time_s * 10000) / 10000;

const endOf = ({ first, t }) => first - 1 + t.length - 1;

// The time `by` matras (columns, where there is no tala) after a time, or before it; at the first or last row's end it stays.
export function byMatras(rows, time_s, by) {
  const place = locate(rows, time_s);
  if (place === null) return time_s;
  let { row } = place;
  let x = place.x + by;
  while (x < rows[row].first - 1 && row > 0) {
    const short = rows[row].first - 1 - x;
    row -= 1;
    x = endOf(rows[row]) - short;
  }
  while (x >= endOf(rows[row]) && row + 1 < rows.length) {
    x = rows[row + 1].first - 1 + (x - endOf(rows[row]));
    row += 1;
  }
  return toTick(timeAt(rows, row, x));
}

// "+30 ms", "−1.25 s", "+0.5 ms": how far something was moved.
export function farWords(from_s, to_s) {
  const ms = Math.round((to_s - from_s) * 10000) / 10;
  const sign = ms < 0 ? "\u2212" : "+";
  const far = Math.abs(ms);
  return far >= 1000 ? `${sign}${(far / 1000).toFixed(2)} s` : `${sign}${far} ms`;
}

// The mark nearest to a time, of [{time_s, ...}]; null where there is none.
export function nearestTo(marks, time_s) {
  return marks.reduce(
    (best, each) => (best === null || Math.abs(each.time_s - time_s) < Math.abs(best.time_s - time_s) ? each : best),
    null,
  );
}
