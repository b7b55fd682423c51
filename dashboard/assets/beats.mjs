// What is struck under the recording: clicks on the matras and the strokes of the theka, at the times of the grid.
//
// Conventions: `data` is a folded page's data (rows, stretches, talas; see fold.mjs). A stretch of time is half-open: what
// falls on its start belongs to it, what falls on its end does not, so that stretches laid end to end, and the rounds of a
// loop, have every beat once. A theka is [[x, sound, level], ...] by tala, x in matras from sam (dashboard/theka.py).
import { lastAtOrBefore } from "./fold.mjs";

function rowsBetween({ rows, stretches, talas }, from_s, to_s) {
  const found = [];
  for (let i = Math.max(lastAtOrBefore(rows, from_s, (row) => row.t[0]), 0); i < rows.length && rows[i].t[0] < to_s; i += 1) {
    const tala = rows[i].stretch < 0 ? null : stretches[rows[i].stretch].tala;
    if (tala !== null) found.push({ row: rows[i], tala: talas[tala], key: tala });
  }
  return found;
}

export function kindOf(tala, matra) {
  if (matra === 1) return "sam";
  if (tala.marks.some((mark) => mark.matra === matra && mark.kind === "khali")) return "khali";
  return tala.vibhags.includes(matra) ? "tali" : "matra";
}

// The matras from `from_s` to `to_s`: [{time_s, kind}], kind being "sam", "khali", "tali" (any other vibhag) or "matra".
export function matrasBetween(data, from_s, to_s) {
  return rowsBetween(data, from_s, to_s).flatMap(({ row, tala }) =>
    row.t
      .slice(0, -1)
      .map((time_s, i) => ({ time_s, kind: kindOf(tala, row.first + i) }))
      .filter(({ time_s }) => time_s >= from_s && time_s < to_s),
  );
}

// The strokes of the theka from `from_s` to `to_s`: [{time_s, sound, level}].
export function strokesBetween(data, thekas, from_s, to_s) {
  return rowsBetween(data, from_s, to_s).flatMap(({ row, key }) => {
    const columns = row.t.length - 1;
    return (thekas[key] ?? [])
      .map(([x, sound, level]) => ({ along: x - (row.first - 1), sound, level }))
      .filter(({ along }) => along >= 0 && along < columns)
      .map(({ along, sound, level }) => {
        const column = Math.floor(along);
        return { time_s: row.t[column] + (along - column) * (row.t[column + 1] - row.t[column]), sound, level };
      })
      .filter(({ time_s }) => time_s >= from_s && time_s < to_s);
  });
}
