// Drawing the folded page: one row of plain data -> one SVG, as text.
//
// Aim: pure functions from data (made by dashboard/figures/fold.py) to markup, so that a row is drawn only when it comes
// into view and every shape can be tested without a browser. Colours and fonts belong to the style sheet.
// Conventions: x counts columns (matras) from the left edge, sam is x = 0; lengths on the page are CSS pixels.
// From top to bottom a row has lanes: tihais, phrases, strokes; a lane that nothing runs through takes no room, nor do the
// strokes of a recording without sound (treble and bass are then null).

export const MARGIN = 30; // room left of sam and right of the last matra, for what lies a little early or late
export const GUTTER = 64; // room for the avartan's number, left of the drawing
export const NARROWEST_COLUMN = 34;

const BAR = 26; // height of a palla or a phrase: a small line of print, and its notes
const LANE = BAR + 4;
const VERDICTS = 21; // room for the words beside a landing, where there is one
const TREBLE = 24; // height of the strongest treble stroke, above the line
const BASS = 15; // and of the strongest bass stroke, below it
const EDGE = 5;
const LOWEST = 44; // an empty row still has room for its number and time
const PRINT = 13; // size of the notes' print, px
const SMALLEST = 9 / PRINT;
const LETTER = 7.9; // width of its average letter, px (bols: a capital and one or two more)

const escape = (text) =>
  String(text).replace(/[&<>"]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[c]);
const round = (value) => Math.round(value * 10) / 10;

// Width in px of a column when the drawing may take `width` px; never so narrow that the strokes run together.
export function columnWidth(columns, width) {
  return Math.max((width - 2 * MARGIN) / columns, NARROWEST_COLUMN);
}

export function drawingWidth(columns, width) {
  return columnWidth(columns, width) * columns + 2 * MARGIN;
}

// px from the drawing's left edge <-> columns
export const toPx = (x, column) => MARGIN + x * column;
export const toColumns = (px, column) => (px - MARGIN) / column;

const lanes = (spans) => spans.reduce((most, span) => Math.max(most, span.lane + 1), 0);

// The tops of a row's lanes, the line that strokes stand on, and the height of the whole, px.
export function rowLayout(row) {
  const tihais = EDGE + (row.landings.length > 0 ? VERDICTS : 0);
  const phrases = tihais + lanes([...row.pallas, ...row.links, ...row.landings, ...row.aims]) * LANE;
  const strokes = phrases + lanes(row.phrases) * LANE;
  if (row.treble === null) return { tihais, phrases, line: null, height: Math.max(strokes + EDGE, LOWEST) };
  return { tihais, phrases, line: strokes + TREBLE, height: strokes + TREBLE + BASS + EDGE };
}

export function rowSvg(row, stretch, tala, width) {
  const column = columnWidth(stretch.columns, width);
  const layout = rowLayout(row);
  const whole = drawingWidth(stretch.columns, width);
  return [
    `<svg class="avartan-drawing" width="${round(whole)}" height="${layout.height}" aria-hidden="true" focusable="false">`,
    rules(row, stretch, tala, column, layout.height),
    layout.line === null ? "" : strokes(row, column, layout.line),
    row.phrases.map((phrase) => phraseShape(phrase, column, layout.phrases)).join(""),
    row.links.map((link) => linkShape(link, column, layout.tihais)).join(""),
    row.pallas.map((palla) => pallaShape(palla, column, layout.tihais)).join(""),
    row.aims.map((aim) => aimShape(aim, column, layout.tihais)).join(""),
    landingShapes(row.landings, column, layout.tihais, whole),
    samShape(row, tala),
    "</svg>",
  ].join("");
}

// The head of a stretch: signs, theka bols and matra numbers over their columns; seconds where there is no tala.
export function headSvg(stretch, tala, width) {
  const column = columnWidth(stretch.columns, width);
  const whole = round(drawingWidth(stretch.columns, width));
  if (tala === null) {
    const labels = [];
    for (let x = 0; x <= stretch.columns; x += 1) {
      labels.push(`<text class="matra-number" x="${round(toPx(x, column))}" y="14">+${x * stretch.column_s} s</text>`);
    }
    return `<svg width="${whole}" height="20" role="img" aria-label="Seconds along the row">${labels.join("")}</svg>`;
  }
  const signs = tala.marks.map(
    (mark) => `<text class="sign ${mark.kind}${mark.matra === 1 ? " sam" : ""}" x="${round(toPx(mark.matra - 1, column))}"` +
      ` y="16">${escape(mark.label)}</text>`,
  );
  const bols = tala.theka.map(
    (word, i) => `<text class="bol" x="${round(toPx(i, column))}" y="34"` +
      `${word.length * LETTER > column ? ` textLength="${round(column - 4)}" lengthAdjust="spacingAndGlyphs"` : ""}>` +
      `${escape(word)}</text>`,
  );
  const numbers = tala.theka.map(
    (_, i) => `<text class="matra-number" x="${round(toPx(i, column))}" y="49">${i + 1}</text>`,
  );
  return `<svg width="${whole}" height="54" role="img" aria-label="${escape(tala.said)}">` +
    `${signs.join("")}${bols.join("")}${numbers.join("")}</svg>`;
}

function rules(row, stretch, tala, column, height) {
  const starts = tala === null ? [] : tala.vibhags;
  const shapes = [];
  for (const [from, to] of tala === null ? [] : tala.khali) {
    shapes.push(`<rect class="khali" x="${round(toPx(from - 1, column))}" y="0" width="${round((to - from) * column)}"` +
      ` height="${height}"/>`);
  }
  for (let matra = 1; matra <= stretch.columns + 1; matra += 1) {
    const at = round(toPx(matra - 1, column));
    const kind = matra === 1 ? "sam-rule" : starts.includes(matra) || matra > stretch.columns ? "vibhag-rule" : "matra-rule";
    shapes.push(`<line class="${kind}" x1="${at}" x2="${at}" y1="0" y2="${height}"/>`);
  }
  return shapes.join("");
}

// Strokes come flat: hundredths of a column, strength 1-9, hundredths, strength, ...
function strokes(row, column, line) {
  const draw = (flat, tallest, way) => {
    let path = "";
    for (let i = 0; i < flat.length; i += 2) {
      path += `M${round(toPx(flat[i] / 100, column))} ${line}v${round((way * tallest * flat[i + 1]) / 9)}`;
    }
    return path;
  };
  const first = round(toPx(row.first - 1, column));
  const end = round(toPx(row.first - 1 + row.t.length - 1, column));
  return `<line class="drum-line" x1="${first}" x2="${end}" y1="${line}" y2="${line}"/>` +
    `<path class="treble" d="${draw(row.treble, TREBLE, -1)}"/><path class="bass" d="${draw(row.bass, BASS, 1)}"/>`;
}

// A bar from..to, square where it is cut by the row's edge, rounded where it really begins or ends.
function bar(span, column, top, height) {
  const left = toPx(span.from, column) - (span.begins ? 0 : MARGIN / 3);
  const right = toPx(span.to, column) + (span.ends ? 0 : MARGIN / 3);
  const r = Math.min(5, (right - left) / 2);
  const a = span.begins ? r : 0;
  const b = span.ends ? r : 0;
  const [l, w, t, h] = [round(left), round(right - left), top, height];
  return `M${l + a} ${t}h${round(w - a - b)}q${b} 0 ${b} ${b}v${h - 2 * b}q0 ${b} ${-b} ${b}h${round(-(w - a - b))}` +
    `q${-a} 0 ${-a} ${-a}v${-(h - 2 * a)}q0 ${-a} ${a} ${-a}z`;
}

function pallaShape(palla, column, lanesTop) {
  const top = lanesTop + palla.lane * LANE;
  const at = round(toPx(palla.from, column));
  const begin = `<line class="palla-edge" x1="${at}" x2="${at}" y1="${top}" y2="${top + BAR}"/>` +
    (palla.n > 0 ? `<text class="palla-number" x="${at + 4}" y="${top + 9}">${palla.n}</text>` : "");
  return `<g class="palla ${palla.status}"><title>${escape(palla.title)}</title>` +
    `<path class="palla-bar" d="${bar(palla, column, top, BAR)}"/>${palla.begins ? begin : ""}` +
    `${notes(palla.notes, column, top + BAR - 5)}</g>`;
}

// Notes at their matras, all in one print, as small as the closest two ask for. Where even the smallest has no room, the
// note before carries dots; the tooltip has them all.
export function notes(list, column, y) {
  const places = list.map(([x, symbol]) => ({ at: toPx(x, column) + 3, text: symbol }));
  const room = places.slice(1).map(({ at }, i) => (at - places[i].at - 1) / (places[i].text.length * LETTER));
  const scale = Math.max(SMALLEST, Math.min(1, ...room));
  const shown = [];
  let free = -Infinity;
  for (const { at, text } of places) {
    if (at >= free - 0.05) {
      shown.push({ at, text });
      free = at + text.length * LETTER * scale + 1;
    } else if (!shown.at(-1).text.endsWith("…")) {
      shown.at(-1).text += "…";
      free += LETTER;
    }
  }
  const size = scale < 1 ? ` style="font-size:${round(PRINT * scale)}px"` : "";
  return shown.map(({ at, text }) => `<text class="note" x="${round(at)}" y="${y}"${size}>${escape(text)}</text>`).join("");
}

function phraseShape(phrase, column, lanesTop) {
  const top = lanesTop + phrase.lane * LANE;
  const left = toPx(phrase.from, column);
  const fits = Math.floor((toPx(phrase.to, column) - left - 6) / LETTER);
  const role = phrase.begins && phrase.role.length <= fits ? phrase.role : "";
  return `<g class="phrase"><title>${escape(phrase.title)}</title>` +
    `<path class="phrase-bar" d="${bar(phrase, column, top, BAR)}"/>` +
    `<text class="phrase-role" x="${round(left + 4)}" y="${top + 9}">${escape(role)}</text>` +
    `${notes(phrase.notes, column, top + BAR - 5)}</g>`;
}

function linkShape(link, column, lanesTop) {
  const y = lanesTop + link.lane * LANE + BAR / 2;
  const from = toPx(link.from, column) - (link.begins ? 0 : MARGIN / 3);
  const to = toPx(link.to, column) + (link.ends ? 0 : MARGIN / 3);
  return `<line class="dam" x1="${round(from)}" x2="${round(to)}" y1="${y}" y2="${y}"/>`;
}

// Where a tihai that did not land was aimed at: an open, broken ring.
function aimShape(aim, column, lanesTop) {
  return `<g class="aim"><title>${escape(aim.title)}</title>` +
    `<circle cx="${round(toPx(aim.x, column))}" cy="${lanesTop + aim.lane * LANE + BAR / 2}" r="7"/></g>`;
}

// The signs of the verdicts inside a landing's ring, as words.py has them: on the spot, before it, after it, beside it.
const SIGNS = {
  lands: (x, y) => `<circle class="landing-dot" cx="${x}" cy="${y}" r="3"/>`,
  early: (x, y) => `<path class="landing-dot" d="M${x - 4} ${y}l6 -3.6v7.2z"/>`,
  late: (x, y) => `<path class="landing-dot" d="M${x + 4} ${y}l-6 -3.6v7.2z"/>`,
  misses: (x, y) => `<path class="landing-cross" d="M${x - 3} ${y - 3}l6 6m0 -6l-6 6"/>`,
};

// Rings above the pallas with a stem through their lane; words beside them, on the other side where there is no room.
function landingShapes(landings, column, lanesTop, whole) {
  const y = lanesTop - 9;
  let free = 0;
  return [...landings].sort((a, b) => a.x - b.x).map((landing) => {
    const at = round(toPx(landing.x, column));
    const wide = landing.text.length * LETTER;
    const right = at + 12 + wide < whole;
    const fits = right ? at + 12 >= free : at - 12 - wide >= free;
    if (fits) free = right ? at + 14 + wide : at + 10;
    const text = `<text class="landing-text" x="${right ? at + 12 : at - 12}" y="${y + 4}"${right ? "" : ' text-anchor="end"'}>` +
      `${escape(landing.text)}</text>`;
    const foot = lanesTop + landing.lane * LANE + BAR;
    return `<a class="landing ${landing.verdict}" href="${escape(landing.href)}" tabindex="-1">` +
      `<title>${escape(landing.title)}</title><line class="landing-stem" x1="${at}" x2="${at}" y1="${y + 7}" y2="${foot}"/>` +
      `<circle class="landing-ring" cx="${at}" cy="${y}" r="7"/>${SIGNS[landing.verdict]?.(at, y) ?? ""}${fits ? text : ""}</a>`;
  }).join("");
}

// At the left edge: a full lozenge where a person marked the sam, a hollow one where it was tracked.
function samShape(row, tala) {
  if (tala === null || row.first !== 1) return "";
  const kind = row.marked ? "marked" : "tracked";
  const word = row.marked ? "Sam marked by a person" : "Sam found by the tracker";
  return `<g class="sam-sign ${kind}"><title>${word}</title><path d="M${MARGIN} 0l4.5 4.5l-4.5 4.5l-4.5 -4.5z"/></g>`;
}
