// From rows to the lines of the page: several avartans in a line, one, or a piece of one; or time running straight on.
//
// Aim: one way of drawing for every closeness. A line is made of parts; a part is a stretch of one row's columns:
//   {stretch, start_s, end_s, parts: [{row, from, to, at}], columns, seconds, label, headed}
//   * `row` is the index of a row, `from` and `to` its columns (x as in fold.mjs);
//   * folded: the part's x = 0 stands `at` columns from the left edge, and the edge-to-edge width is `columns`;
//   * straight on (seconds > 0): what is drawn stands where its time is, the line being so many seconds wide;
//   * `headed`: the line carries the names of its matras itself, since not all lines of its stretch have the same.
import { lastAtOrBefore, timeAt } from "./fold.mjs";

// `rows` to a line, or `cut` into pieces; `seconds` of a line where time is not counted in matras or runs straight on;
// `semitone`: height of one in the melody, px.
export const STEPS = [
  { rows: 16, seconds: 320, semitone: 1.5, said: "16 avartans a row" },
  { rows: 8, seconds: 160, semitone: 1.8, said: "8 avartans a row" },
  { rows: 4, seconds: 80, semitone: 2.4, said: "4 avartans a row" },
  { rows: 2, seconds: 40, semitone: 3.2, said: "2 avartans a row" },
  { rows: 1, seconds: 20, semitone: 4, said: "an avartan a row" },
  { cut: "half", seconds: 10, semitone: 5, said: "half an avartan a row" },
  { cut: "vibhag", seconds: 5, semitone: 6.5, said: "a vibhag a row" },
  { cut: "matra", seconds: 1, semitone: 8, said: "a matra a row" },
];
export const AN_AVARTAN = 4;
export const HALF = 5;

const NOWHERE = { title: "not counted in matras", tala: null, columns: 4, column_s: 5, laya: "" };
export const stretchOf = (data, row) => (row.stretch < 0 ? NOWHERE : data.stretches[row.stretch]);
export const talaOf = (data, stretch) => (stretch.tala === null ? null : data.talas[stretch.tala]);

// What is said of a step, in avartans or, straight on, in seconds.
export const stepSaid = (step, straight) => (straight ? `${STEPS[step].seconds} s a row` : STEPS[step].said);

export function linesOf(data, step, straight) {
  const lines = [];
  for (let first = 0; first < data.rows.length; ) {
    let last = first + 1;
    while (last < data.rows.length && data.rows[last].stretch === data.rows[first].stretch) last += 1;
    const make = straight ? straightLines : STEPS[step].rows ? wholeLines : cutLines;
    lines.push(...make(data, first, last, STEPS[step]));
    first = last;
  }
  return lines;
}

const begin = (row) => row.first - 1;
const end = (row) => row.first - 1 + row.t.length - 1;

// Until when a row is the one a time folds into: its last column may reach past the next row's beginning.
const ownEnd = (rows, i) => (i + 1 < rows.length ? Math.min(rows[i].t.at(-1), rows[i + 1].t[0]) : rows[i].t.at(-1));

function wholeLines({ rows, ...data }, first, last, step) {
  const { columns } = stretchOf(data, rows[first]);
  const lines = [];
  for (let i = first; i < last; i += step.rows) {
    const until = Math.min(i + step.rows, last);
    const parts = [];
    for (let row = i; row < until; row += 1) parts.push({ row, from: begin(rows[row]), to: end(rows[row]), at: (row - i) * columns });
    const numbers = rows.slice(i, until).map(({ label }) => label).filter((label) => label !== "");
    const label = numbers.length > 1 ? `${numbers[0]}–${numbers.at(-1)}` : numbers.join();
    lines.push(line(rows, parts, { columns: columns * step.rows, label, headed: false }));
  }
  return lines;
}

function cutLines({ rows, ...data }, first, last, step) {
  const stretch = stretchOf(data, rows[first]);
  const cuts = cutsOf(stretch, talaOf(data, stretch), step.cut);
  const columns = cuts.slice(1).reduce((widest, cut, i) => Math.max(widest, cut - cuts[i]), 0);
  const lines = [];
  for (let row = first; row < last; row += 1) {
    cuts.slice(1).forEach((cut, i) => {
      const from = Math.max(cuts[i], begin(rows[row]));
      const to = Math.min(cut, end(rows[row]));
      if (to - from < 1e-6 || timeAt(rows, row, from) >= ownEnd(rows, row) - 1e-9) return;
      lines.push(line(rows, [{ row, from, to, at: -cuts[i] }], { columns, label: rows[row].label, headed: true }));
    });
  }
  return lines;
}

// Where a row is cut, in columns: at the vibhag nearest to its middle, at every vibhag, at every matra. Without a tala a
// half is two columns, a "vibhag" one, and a "matra" a second.
export function cutsOf({ columns, column_s }, tala, cut) {
  if (tala === null) {
    const pieces = { half: 2, vibhag: columns, matra: columns * column_s }[cut];
    return Array.from({ length: pieces + 1 }, (_, i) => (i * columns) / pieces);
  }
  const vibhags = tala.vibhags.map((matra) => matra - 1);
  if (cut === "vibhag") return [...vibhags, columns];
  if (cut === "matra") return Array.from({ length: columns + 1 }, (_, i) => i);
  const inner = vibhags.length > 1 ? vibhags.slice(1) : [Math.ceil(columns / 2)];
  const middle = inner.reduce((best, at) => (Math.abs(at - columns / 2) < Math.abs(best - columns / 2) ? at : best));
  return [0, middle, columns];
}

function straightLines({ rows }, first, last, { seconds }) {
  const lines = [];
  const end_s = ownEnd(rows, last - 1);
  let row = first;
  for (let i = 0, start_s = rows[first].t[0]; end_s - start_s > 1e-6; i += 1, start_s = rows[first].t[0] + i * seconds) {
    const until_s = Math.min(start_s + seconds, end_s);
    while (row + 1 < last && ownEnd(rows, row) <= start_s + 1e-9) row += 1;
    const parts = [];
    for (let each = row; each < last && rows[each].t[0] < until_s - 1e-9; each += 1) {
      const from = columnAt(rows[each], Math.max(start_s, rows[each].t[0]));
      const to = columnAt(rows[each], Math.min(until_s, ownEnd(rows, each)));
      parts.push({ row: each, from, to, at: 0 });
    }
    const made = line(rows, parts, { columns: 0, seconds, label: rows[row].label, headed: true });
    lines.push({ ...made, start_s, end_s: until_s });
  }
  return lines;
}

function columnAt({ t, first }, time_s) {
  const column = Math.min(Math.max(lastAtOrBefore(t, time_s), 0), t.length - 2);
  return first - 1 + column + (time_s - t[column]) / (t[column + 1] - t[column]);
}

function line(rows, parts, about) {
  const last = parts.at(-1);
  return {
    stretch: rows[parts[0].row].stretch,
    parts,
    seconds: 0,
    start_s: timeAt(rows, parts[0].row, parts[0].from),
    end_s: Math.min(timeAt(rows, last.row, last.to), ownEnd(rows, last.row)),
    ...about,
  };
}

// The line of a time, or -1 before the first; and the part of it that a place in a row falls into.
export const lineAt = (lines, time_s) => lastAtOrBefore(lines, time_s, (each) => each.start_s);
export const partOf = (line, { row, x }) =>
  line.parts.find((part) => part.row === row && x <= part.to + 1e-6) ?? line.parts.find((part) => part.row === row) ?? null;

// The columns of a part -> px from the left edge of its line's drawing, and back to the time of a px.
export function pxOf(line, part, rows, width, margin) {
  if (line.seconds > 0) {
    const scale = (width - 2 * margin) / line.seconds;
    return (x) => margin + (timeBeyond(rows, part.row, x) - line.start_s) * scale;
  }
  const column = (width - 2 * margin) / line.columns;
  return (x) => margin + (part.at + x) * column;
}

// As timeAt, but what lies a little outside of the row is told by its nearest column.
function timeBeyond(rows, row, x) {
  const { t, first } = rows[row];
  const along = x - (first - 1);
  if (along < 0) return t[0] + along * (t[1] - t[0]);
  const most = t.length - 1;
  return along > most ? t[most] + (along - most) * (t[most] - t[most - 1]) : timeAt(rows, row, x);
}

export function timeOfPx(line, rows, width, margin, px) {
  if (line.seconds > 0) {
    const time_s = line.start_s + ((px - margin) * line.seconds) / (width - 2 * margin);
    return Math.min(Math.max(time_s, line.start_s), line.end_s);
  }
  const across = ((px - margin) * line.columns) / (width - 2 * margin);
  const part = line.parts.find(({ at, to }) => across <= at + to) ?? line.parts.at(-1);
  return timeAt(rows, part.row, Math.min(Math.max(across - part.at, part.from), part.to));
}
