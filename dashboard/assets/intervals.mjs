// Numbers with their intervals, item by item: a row each, the interval as a line, the number as a diamond on it.
//
// Conventions: what is drawn is {x_title, y_title, rows: [{item, value, low, high, told}]}, in one unit; low and high are null where there
// is no interval. A full sign where `told` (the interval leaves out zero), a hollow one elsewhere. Drawn for a width in px.
import { escape, round } from "./rows.mjs";
import { signed, ticks } from "./scale.mjs";

const ROW = 28;
const [RIGHT, TOP, FOOT] = [18, 8, 44];
const LETTER = 8;
const TITLE = 22; // px for the upright title at the left
const [SIGN, CAP] = [7, 6];

export function intervalsSvg(told, width) {
  const { rows } = told;
  const longest = Math.max(0, ...rows.map(({ item }) => item.length));
  const room = Math.min(longest * LETTER, 0.38 * width);
  const letters = Math.max(1, Math.floor(room / LETTER));
  const left = TITLE + room + 10;
  const ends = rows.flatMap(({ value, low, high }) => [value, low ?? value, high ?? value]);
  const [low, high] = [Math.min(0, ...ends), Math.max(0, ...ends)];
  const reach = high - low || 1;
  const toX = (value) => round(left + 8 + ((value - low) / reach) * (width - left - RIGHT - 16));
  const foot = TOP + ROW * rows.length;
  const shapes = [];
  for (const value of ticks(low, high, Math.max(4, Math.floor((width - left) / 55)))) {
    const x = toX(value);
    shapes.push(`<line class="${value === 0 ? "zero" : "grid"}" x1="${x}" x2="${x}" y1="${TOP}" y2="${foot}"/>`);
    shapes.push(`<text class="tick" text-anchor="middle" x="${x}" y="${foot + 16}">${number(value)}</text>`);
  }
  rows.forEach((row, index) => shapes.push(rowOf(row, round(TOP + ROW * (index + 0.5)), left, toX, letters, width)));
  shapes.push(`<text class="title" text-anchor="middle" x="${round((left + width - RIGHT) / 2)}" y="${foot + FOOT - 8}">${escape(told.x_title)}</text>`);
  shapes.push(`<text class="title" text-anchor="middle" transform="translate(13 ${round((TOP + foot) / 2)}) rotate(-90)">${escape(told.y_title)}</text>`);
  return `<svg width="${round(width)}" height="${foot + FOOT}" aria-hidden="true">${shapes.join("")}</svg>`;
}

// With a decimal only where whole numbers would not tell them apart.
function number(value) {
  if (Number.isInteger(value)) return signed(value);
  return (value > 0 ? "+" : "\u2212") + Number(Math.abs(value).toPrecision(3));
}

function rowOf({ item, value, low, high, told }, y, left, toX, letters, width) {
  const cut = item.length > letters ? `${item.slice(0, Math.max(letters - 2, 1))} …` : item;
  const span = low === null ? "no interval" : `${number(low)} to ${number(high)}`;
  const x = toX(value);
  const sign = `<polygon class="sign${told ? "" : " hollow"}" points="${x},${y - SIGN} ${round(x + SIGN)},${y} ${x},${y + SIGN} ${round(x - SIGN)},${y}"/>`;
  const line = low === null ? "" : `<path class="span" d="M${toX(low)} ${y}H${toX(high)}M${toX(low)} ${y - CAP}v${2 * CAP}M${toX(high)} ${y - CAP}v${2 * CAP}"/>`;
  return `<g class="interval"><title>${escape(item)}: ${number(value)}, ${span}</title>` +
    `<rect class="ground" x="${TITLE}" y="${y - ROW / 2}" width="${round(width - TITLE - RIGHT)}" height="${ROW}"/>` +
    `<text class="note" text-anchor="end" x="${round(left)}" y="${y + 4}">${escape(cut)}</text>${line}${sign}</g>`;
}
