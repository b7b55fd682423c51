// What stands around the lines, as text: the head of a stretch, the number of a line and the swaras' names, words for places.
//
// Conventions as in rows.mjs and lines.mjs.
import { formatClock } from "./clock.mjs";
import { swaraNames } from "./contour.mjs";
import { layaHead } from "./laya.mjs";
import { stretchOf, talaOf } from "./lines.mjs";
import { MARGIN, drawingWidth, escape, round } from "./rows.mjs";

const NARROW = 560; // px of a sheet below which what stands beside the drawings is narrower
const LETTER = 7.9;
const NAMED_FROM = 13; // px between matras from which each has its bol

// How a sheet of a width is divided, px: the gutter with the avartan's number and the swaras' names, the drawings, and the
// side with the laya.
export function divided(width) {
  const [gutter, side] = width < NARROW ? [62, 40] : [84, 64];
  return { gutter, side, body: width - gutter - side };
}

// The head over the lines of a stretch: signs, theka bols and matra numbers over their columns; seconds without a tala.
export function headSvg(line, stretch, tala, width) {
  const whole = drawingWidth(line, width);
  const column = (whole - 2 * MARGIN) / line.columns;
  const toPx = (x) => round(MARGIN + x * column);
  if (tala === null) {
    const every = Math.max(1, Math.ceil(52 / column));
    const labels = [];
    for (let x = 0; x <= line.columns; x += every) {
      labels.push(`<text class="matra-number" x="${toPx(x)}" y="14">+${x * stretch.column_s} s</text>`);
    }
    return `<svg width="${round(whole)}" height="20" role="img" aria-label="Seconds along the row">${labels.join("")}</svg>`;
  }
  const shapes = [];
  for (let x = 0; x < line.columns; x += 1) {
    const matra = (x % stretch.columns) + 1;
    const mark = tala.marks.find((each) => each.matra === matra);
    const vibhag = column * (tala.vibhags[1] ?? stretch.columns);
    if (mark && (matra === 1 || vibhag >= NAMED_FROM)) {
      shapes.push(`<text class="sign ${mark.kind}${matra === 1 ? " sam" : ""}" x="${toPx(x)}" y="16">${escape(mark.label)}</text>`);
    }
    if (column < NAMED_FROM) continue;
    const word = tala.theka[matra - 1];
    const squeezed = word.length * LETTER > column ? ` textLength="${round(column - 4)}" lengthAdjust="spacingAndGlyphs"` : "";
    shapes.push(`<text class="bol" x="${toPx(x)}" y="34"${squeezed}>${escape(word)}</text>`);
    shapes.push(`<text class="matra-number" x="${toPx(x)}" y="49">${matra}</text>`);
  }
  return `<svg width="${round(whole)}" height="54" role="img" aria-label="${escape(tala.said)}">${shapes.join("")}</svg>`;
}

// The head of a block: its title, and below it, in one strip, what stays in sight: the corner, the theka (or, where the lines
// carry that themselves, the title) and the scale of the laya.
export function blockMarkup(line, stretch, tala, scale, { body, side }) {
  const title = titleMarkup(stretch);
  const head = line.headed ? `<h3 class="stretch-name">${title}</h3>` : headSvg(line, stretch, tala, body);
  const corner = line.headed ? "" : tala === null ? "seconds" : "avartan<br>matra";
  return `<h3>${line.headed ? "" : title}</h3><div class="theka"><span class="corner">${corner}</span>` +
    `<div class="head">${head}</div>${layaHead(scale, side)}</div>`;
}

export function titleMarkup(stretch) {
  return `${escape(stretch.title)}${stretch.laya ? ` <span class="laya">${escape(stretch.laya)}</span>` : ""}`;
}

// The gutter of a line: number of the avartan, time, and the names of the swaras beside the melody.
export function gutterMarkup(line, layout, data, gutter) {
  const names = layout.melody === null ? "" : swaraNames(layout.melody, data.swaras, gutter);
  return `<svg class="swara-names" width="${gutter}" height="${layout.height}" aria-hidden="true">${names}</svg>` +
    `<b>${escape(line.label)}</b><span>${formatClock(line.start_s, gutter < 70 ? 0 : 1)}</span>`;
}

// Where the sound is, in words: "avartan 5, matra 9.25".
export function placeInWords(data, place) {
  if (place === null) return "";
  const row = data.rows[place.row];
  const stretch = stretchOf(data, row);
  if (talaOf(data, stretch) === null) return stretch.title;
  const matra = Math.floor((place.x + 1) * 100 + 1e-6) / 100;
  return `${row.label === "" ? "before the first sam" : `avartan ${row.label}`}, matra ${matra.toFixed(2)}`;
}
