// What can be looped, and how a loop's ends are moved. A loop is {from_s, to_s, words}.
//
// Conventions: `data` is a folded page's data (fold.mjs); ends move from matra to matra where there is a tala.
import { lastAtOrBefore, locate, stepColumns, timeAt } from "./fold.mjs";

export const SHORTEST_S = 0.1;
const AFTER_LANDING_S = 0.5; // a tihai's loop goes on to the first matra so long after the landing

const talaOfRow = (data, row) => (row.stretch < 0 ? null : data.stretches[row.stretch].tala);

// The row at a time: from sam to sam where there is a tala.
export function avartanAt(data, time_s) {
  const place = locate(data.rows, time_s);
  if (place === null) return null;
  const row = data.rows[place.row];
  const next = data.rows[place.row + 1];
  const to_s = next === undefined ? Math.min(row.t.at(-1), data.duration_s) : Math.min(row.t.at(-1), next.t[0]);
  const words = talaOfRow(data, row) === null || row.label === "" ? "" : `avartan ${row.label}`;
  return { from_s: row.t[0], to_s, words };
}

// A loop that goes on to the end of the next row; the same where there is none.
export function longer(data, loop) {
  const index = lastAtOrBefore(data.rows, loop.to_s + 1e-4, (row) => row.t[0]);
  const more = index < 0 ? null : avartanAt(data, data.rows[index].t[0] + 1e-4);
  if (more === null || more.to_s <= loop.to_s) return loop;
  const first = avartanAt(data, loop.from_s + 1e-4);
  const named = first !== null && first.words !== "" && more.words !== "";
  return { from_s: loop.from_s, to_s: more.to_s, words: named ? `${first.words} to ${more.words.split(" ")[1]}` : "" };
}

// Of tihais or phrases in order of time: the one that sounds, else the one before, else the first; null when there is none.
export function nearestPassage(passages, time_s) {
  const begun = passages.filter(({ from_s }) => from_s <= time_s + SHORTEST_S);
  return begun.findLast(({ to_s }) => to_s >= time_s) ?? begun.at(-1) ?? passages[0] ?? null;
}

// A tihai from its first palla to its landing, and on to a matra after it, so that the landing rings.
export function tihaiLoop(data, { from_s, to_s, words }) {
  const place = locate(data.rows, to_s + AFTER_LANDING_S);
  const ring_s = place === null ? to_s + AFTER_LANDING_S : nextColumn(data, to_s + AFTER_LANDING_S);
  return { from_s, to_s: Math.min(ring_s, data.duration_s), words };
}

function nextColumn(data, time_s) {
  const place = locate(data.rows, time_s);
  return timeAt(data.rows, place.row, Math.ceil(place.x - 1e-6));
}

// The matra nearest to a time; the time itself where no row is.
export function nearestMatra(data, time_s) {
  const place = locate(data.rows, time_s);
  return place === null ? time_s : timeAt(data.rows, place.row, Math.round(place.x));
}

// A loop with an end ("from_s" or "to_s") put somewhere. What there is not yet reaches to the end of the row (or begins
// where the row does); ends never cross: the other one then moves along to the row's.
export function withEnd(data, loop, end, time_s) {
  const row = avartanAt(data, time_s) ?? { from_s: Math.max(time_s - 5, 0), to_s: time_s + 5 };
  const made = { ...(loop ?? row), [end]: time_s, words: "" };
  if (made.to_s - made.from_s >= SHORTEST_S) return made;
  const other = end === "from_s" ? "to_s" : "from_s";
  const fallback = end === "from_s" ? Math.max(row.to_s, time_s + 1) : Math.min(row.from_s, Math.max(time_s - 1, 0));
  return { ...made, [other]: fallback };
}

// A loop with an end moved by matras; the same where it would become too short.
export function nudged(data, loop, end, steps) {
  const moved = { ...loop, [end]: stepColumns(data.rows, loop[end], steps), words: "" };
  return moved.to_s - moved.from_s >= SHORTEST_S ? moved : loop;
}

// An end in words: "avartan 5, matra 9"; null where no tala is.
export function endInWords(data, time_s) {
  const place = locate(data.rows, time_s + 1e-4);
  if (place === null) return null;
  const row = data.rows[place.row];
  if (talaOfRow(data, row) === null || row.label === "") return null;
  const matra = Math.round((place.x + 1) * 100) / 100;
  return `avartan ${row.label}, ${matra === 1 ? "sam" : `matra ${matra}`}`;
}
