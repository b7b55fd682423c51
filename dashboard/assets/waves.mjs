// The pallas one above the other: each one's waveform from its own start, with the notes of the paper and the strokes heard.
//
// Conventions: what is drawn is {x_title, y_title, length_s, rows: [{name, from_s, to_s, edge_s, low, high, written, played_s}]}.
// A row begins at from_s of the recording and its palla ends at to_s; `edge_s` (n + 1 limits of the points), `written` [[s, note]] and
// `played_s` are seconds from from_s, along an axis of length_s; `low` and `high` (n) are shares of the loudest, -1 to 1.
import { escape, round } from "./rows.mjs";
import { ticks } from "./scale.mjs";

const [LEFT, RIGHT, TOP, FOOT] = [34, 12, 6, 44];
const ROW = 118; // px; the name and the notes stand in the uppermost part of it
const HEAD = 42;
const HALF = 32; // of the loudest
const LETTER = 7.5;

// Where what follows the sound is drawn: the row that sounds and px from the left; null outside all rows.
export function cursorAt(told, time_s, width) {
  const row = told.rows.findIndex(({ from_s, to_s }) => from_s <= time_s && time_s < to_s);
  if (row < 0) return null;
  return { row, x: round(LEFT + (time_s - told.rows[row].from_s) * scaleOf(told, width)) };
}

// What a click plays: from the place in the row to the end of its palla, or of what is drawn where the place is beyond.
export function stretchAt(told, row, x, width) {
  const { from_s, to_s } = told.rows[row];
  const along_s = Math.min(Math.max((x - LEFT) / scaleOf(told, width), 0), told.length_s);
  const begin_s = from_s + along_s;
  return begin_s < to_s ? { from_s: begin_s, to_s } : { from_s: begin_s, to_s: from_s + told.length_s };
}

const scaleOf = ({ length_s }, width) => (width - LEFT - RIGHT) / length_s;

export function wavesSvg(told, width) {
  const px = scaleOf(told, width);
  const toX = (s) => round(LEFT + s * px);
  const foot = TOP + ROW * told.rows.length;
  const height = foot + FOOT;
  const shapes = [];
  for (const s of ticks(0, told.length_s, Math.max(4, Math.floor(width / 65)))) {
    shapes.push(`<line class="grid" x1="${toX(s)}" x2="${toX(s)}" y1="${TOP}" y2="${foot}"/>`);
    shapes.push(`<text class="tick" text-anchor="middle" x="${toX(s)}" y="${foot + 16}">${s}</text>`);
  }
  told.rows.forEach((row, number) => shapes.push(rowOf(row, number, TOP + ROW * number, width, toX)));
  shapes.push(`<text class="title" text-anchor="middle" x="${round((LEFT + width - RIGHT) / 2)}" y="${height - 8}">${escape(told.x_title)}</text>`);
  shapes.push(`<text class="title" text-anchor="middle" transform="translate(12 ${round((TOP + foot) / 2)}) rotate(-90)">${escape(told.y_title)}</text>`);
  return `<svg width="${round(width)}" height="${height}" aria-hidden="true">${shapes.join("")}</svg>`;
}

function rowOf({ name, edge_s, low, high, written, played_s }, number, top, width, toX) {
  const zero = top + HEAD + HALF;
  const toY = (share) => round(zero - share * HALF);
  const up = high.map((share, index) => `${toX((edge_s[index] + edge_s[index + 1]) / 2)},${toY(share)}`);
  const down = low.map((share, index) => `${toX((edge_s[index] + edge_s[index + 1]) / 2)},${toY(share)}`).reverse();
  const shapes = [
    `<rect class="ground" x="${LEFT}" y="${top}" width="${round(width - LEFT - RIGHT)}" height="${ROW - 8}"/>`,
    `<text class="row-name" x="${LEFT + 2}" y="${top + 14}">${escape(name)}</text>`,
    `<line class="grid" x1="${LEFT}" x2="${round(width - RIGHT)}" y1="${zero}" y2="${zero}"/>`,
    `<polygon class="wave" points="${[...up, ...down].join(" ")}"/>`,
  ];
  let free = -Infinity; // px from which a note can be written without touching the one before
  for (const [s, note] of written) {
    const x = toX(s);
    shapes.push(`<line class="written" x1="${x}" x2="${x}" y1="${top + HEAD - 8}" y2="${zero + HALF}"/>`);
    const half = (note.length * LETTER) / 2;
    const middle = Math.min(Math.max(x, LEFT + half), width - half - 2);
    if (middle - half < free) continue;
    shapes.push(`<text class="note" text-anchor="middle" x="${round(middle)}" y="${top + HEAD - 12}">${escape(note)}</text>`);
    free = middle + half + 1;
  }
  for (const s of played_s) {
    const x = toX(s);
    shapes.push(`<polygon class="stroke" points="${x},${zero + HALF - 5} ${round(x + 5)},${zero + HALF + 4} ${round(x - 5)},${zero + HALF + 4}"/>`);
  }
  shapes.push(`<line class="cursor" x1="${LEFT}" x2="${LEFT}" y1="${top + HEAD - 8}" y2="${zero + HALF + 4}" visibility="hidden"/>`);
  return `<g class="wave-row" data-row="${number}"><title>${escape(name)}: click to hear it from there</title>${shapes.join("")}</g>`;
}
