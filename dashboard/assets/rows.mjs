// Drawing the folded page: one line of plain data -> one SVG, as text.
//
// Aim: pure functions from data (made by dashboard/folded.py) to markup, so that a line is drawn only when it comes near and
// every shape can be tested without a browser. Colours and fonts belong to the style sheet.
// Conventions: x counts columns (matras) from a row's left edge, sam is x = 0; lengths on the page are CSS pixels; `px` is the
// function from x to the drawing's px for the part at hand (lines.mjs). What a part shows of a row is cut at the part's ends.
import { timeAt } from "./fold.mjs";
import { contourPaths, ruledSwaras } from "./contour.mjs";
import { BAR, BASS, LANE, TREBLE } from "./layout.mjs";
import { pxOf, stretchOf, talaOf } from "./lines.mjs";
import { formatClock } from "./clock.mjs";

export const MARGIN = 30; // room left of sam and right of the last matra, for what lies a little early or late
export const NARROWEST_COLUMN = 34; // of a line that holds one avartan

const EARLY = 0.3; // columns by which something may lie before the sam it belongs to
const RULED_FROM = 9; // px between matras below which only vibhags are ruled, and below which, of those, only sams
const PRINT = 13; // size of the notes' print, px
const SMALLEST = 9 / PRINT;
const DOTS = 13; // width of the dots that tell of notes left out

// Width of a text in print of 13 px: an m is wide, capitals are wider than the rest.
const textWidth = (text) => [...text].reduce((sum, c) => sum + (/[mM]/.test(c) ? 12 : /[A-Z]/.test(c) ? 9.6 : 7), 0);

export const escape = (text) =>
  String(text).replace(/[&<>"]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[c]);
export const round = (value) => Math.round(value * 10) / 10;

// Width in px of a line's drawing when it may take `width` px; an avartan never so narrow that the strokes run together.
export function drawingWidth(line, width) {
  const wide = line.parts.length === 1 && line.seconds === 0 && !line.headed;
  return Math.max(width, wide ? line.columns * NARROWEST_COLUMN + 2 * MARGIN : 0);
}

// A line as SVG. `detailOf(row)` gives what stands in a row, or undefined while it is not known yet: the rules stand then.
export function lineSvg(line, layout, data, detailOf, width) {
  const whole = drawingWidth(line, width);
  const parts = line.parts.map((part) => {
    const row = data.rows[part.row];
    const stretch = stretchOf(data, row);
    const px = pxOf(line, part, data.rows, whole, MARGIN);
    const detail = detailOf(row);
    return { ...part, index: part.row, row, stretch, tala: talaOf(data, stretch), px, detail };
  });
  const left = parts[0].px(parts[0].from);
  const right = parts.at(-1).px(parts.at(-1).to);
  const known = parts.filter(({ detail }) => detail !== undefined);
  const each = (draw) => known.map((part) => draw(part)).join("");
  return [
    `<svg class="avartan-drawing" width="${round(whole)}" height="${layout.height}" aria-hidden="true" focusable="false">`,
    parts.map((part) => rules(part, layout.height)).join(""),
    line.headed ? parts.map(names).join("") : "",
    layout.melody === null ? "" : ruledSwaras(layout.melody, data.swaras, left, right),
    layout.melody === null ? "" : melodyShapes(known, layout.melody, data.rows, left, right),
    layout.line === null ? "" : `<line class="drum-line" x1="${round(left)}" x2="${round(right)}" y1="${layout.line}" y2="${layout.line}"/>`,
    layout.line === null ? "" : each((part) => strokes(part, layout.line)),
    each((part) => part.detail.phrases.map((phrase) => phraseShape(phrase, part, layout.phrases)).join("")),
    each((part) => part.detail.links.map((link) => linkShape(link, part, layout.tihais)).join("")),
    each((part) => part.detail.pallas.map((palla) => pallaShape(palla, part, layout.tihais)).join("")),
    each((part) => part.detail.aims.map((aim) => aimShape(aim, part, layout.tihais)).join("")),
    landingShapes(known, layout.tihais, whole),
    parts.map(samShape).join(""),
    "</svg>",
  ].join("");
}

// Whether a place belongs to a part: at its ends what lies a little outside of the whole row does too.
function holds({ from, to, row }, x) {
  const begin = row.first - 1;
  const end = begin + row.t.length - 1;
  return (x >= from - 1e-6 || (from <= begin && x >= begin - EARLY)) && (x < to - 1e-6 || to >= end);
}

// A run cut to a part: {from, to, begins, ends}, or null where it does not reach into it.
function cut(span, part) {
  const first = part.from <= part.row.first - 1;
  const from = first ? span.from : Math.max(span.from, part.from);
  const to = part.to >= part.row.first - 1 + part.row.t.length - 1 ? span.to : Math.min(span.to, part.to);
  if (to - from < 1e-6) return null;
  return { from, to, begins: span.begins && from === span.from, ends: span.ends && to === span.to };
}

function rules({ row, from, to, stretch, tala, px }, height) {
  const starts = tala === null ? [] : tala.vibhags;
  const column = px(Math.floor(from) + 1) - px(Math.floor(from));
  const shapes = [];
  for (const [a, b] of tala === null ? [] : tala.khali) {
    const [left, right] = [Math.max(a - 1, from), Math.min(b - 1, to)];
    if (right > left) {
      shapes.push(`<rect class="khali" x="${round(px(left))}" y="0" width="${round(px(right) - px(left))}" height="${height}"/>`);
    }
  }
  const vibhag = starts.length > 1 ? column * (starts[1] - starts[0]) : Infinity;
  for (let matra = Math.ceil(from - 1e-6) + 1; matra - 1 <= to + 1e-6; matra += 1) {
    const isSam = matra === 1;
    const isVibhag = isSam || starts.includes(matra) || matra > stretch.columns;
    if (!isSam && (isVibhag ? vibhag : column) < RULED_FROM && matra <= stretch.columns) continue;
    const at = round(px(matra - 1));
    const kind = isSam && tala !== null ? "sam-rule" : isVibhag ? "vibhag-rule" : "matra-rule";
    shapes.push(`<line class="${kind}" x1="${at}" x2="${at}" y1="0" y2="${height}"/>`);
  }
  return shapes.join("");
}

// The names of a part's matras over its rules: sign and bol, number; the time where there is no tala. Vibhags come first;
// of the others those that have room.
function names({ index, row, from, to, tala, px }) {
  const matras = [];
  for (let x = Math.ceil(from - 1e-6); x < to - 1e-6; x += 1) {
    const mark = tala?.marks.find(({ matra }) => matra === x + 1);
    const word = tala === null ? formatClock(timeAt([row], 0, x), 0) : tala.theka[x];
    const at = round(px(x)) + 4;
    matras.push({ x, at, until: at + textWidth(mark ? `${mark.label} ${word}` : word) + 5, mark, word });
  }
  const shown = [];
  for (const each of [...matras.filter(({ mark }) => mark), ...matras.filter(({ mark }) => !mark)]) {
    if (shown.every(({ at, until }) => each.until <= at || each.at >= until)) shown.push(each);
  }
  const text = ({ x, at, mark, word }) => {
    const sign = mark ? `<tspan class="sign ${mark.kind}${x === 0 ? " sam" : ""}">${escape(mark.label)} </tspan>` : "";
    const number = tala === null ? "" : `<text class="matra-number" x="${at}" y="27">${x + 1}</text>`;
    return `<text class="bol" x="${at}" y="14">${sign}${escape(word)}</text>${number}`;
  };
  return `<g class="names" data-row="${index}">${shown.map(text).join("")}</g>`;
}

function melodyShapes(parts, lane, rows, left, right) {
  const paths = { sure: "", unsure: "" };
  for (const { index, row, from, to, px, detail } of parts) {
    if (!detail.melody) continue;
    const begin = row.first - 1;
    const columns = columnFinder(row);
    const drawn = contourPaths(detail.melody, { ...lane, top: 0 }, timeAt(rows, index, from), timeAt(rows, index, to),
      (time_s) => px(begin + columns(time_s)));
    paths.sure += drawn.sure;
    paths.unsure += drawn.unsure;
  }
  // a drawing of its own, so that what lies beyond the lane is cut off at its edges
  const [x, width, height] = [round(left), round(right - left), round(lane.height)];
  return `<svg class="melody" x="${x}" y="${lane.top}" width="${width}" height="${height}" viewBox="${x} 0 ${width} ${height}">` +
    `<path class="contour unsure" d="${paths.unsure}"/><path class="contour" d="${paths.sure}"/></svg>`;
}

// Columns from the row's begin at times that come in ascending order; beyond its ends they go on at the nearest column's pace.
function columnFinder({ t }) {
  let at = 0;
  return (time_s) => {
    while (at < t.length - 2 && t[at + 1] <= time_s) at += 1;
    return at + (time_s - t[at]) / (t[at + 1] - t[at]);
  };
}

// Strokes come flat: thousandths of a column, strength 1-9, thousandths, strength, ...
function strokes(part, line) {
  const draw = (flat, tallest, way) => {
    let path = "";
    for (let i = 0; i < flat.length; i += 2) {
      const x = flat[i] / 1000;
      if (x < part.from - 1e-6 || x >= part.to) continue;
      path += `M${round(part.px(x))} ${line}v${round((way * tallest * flat[i + 1]) / 9)}`;
    }
    return path;
  };
  const { treble, bass } = part.detail;
  return `<path class="treble" d="${draw(treble ?? [], TREBLE, -1)}"/><path class="bass" d="${draw(bass ?? [], BASS, 1)}"/>`;
}

// A bar from..to, square where it is cut by the row's edge, rounded where it really begins or ends.
function bar(span, part, top, height) {
  const open = (x) => (x <= part.row.first - 1 || x >= part.row.first - 1 + part.row.t.length - 1 ? MARGIN / 3 : 0);
  const left = part.px(span.from) - (span.begins ? 0 : open(span.from));
  const right = part.px(span.to) + (span.ends ? 0 : open(span.to));
  const r = Math.min(5, (right - left) / 2);
  const a = span.begins ? r : 0;
  const b = span.ends ? r : 0;
  const [l, w, t, h] = [round(left), round(right - left), top, height];
  return `M${l + a} ${t}h${round(w - a - b)}q${b} 0 ${b} ${b}v${h - 2 * b}q0 ${b} ${-b} ${b}h${round(-(w - a - b))}` +
    `q${-a} 0 ${-a} ${-a}v${-(h - 2 * a)}q0 ${-a} ${a} ${-a}z`;
}

function pallaShape(palla, part, lanesTop) {
  const span = cut(palla, part);
  if (span === null) return "";
  const top = lanesTop + palla.lane * LANE;
  const at = round(part.px(span.from));
  const begin = `<line class="palla-edge" x1="${at}" x2="${at}" y1="${top}" y2="${top + BAR}"/>` +
    (palla.n > 0 ? `<text class="palla-number" x="${at + 4}" y="${top + 9}">${palla.n}</text>` : "");
  return `<g class="palla ${palla.status}"><title>${escape(palla.title)}</title>` +
    `<path class="palla-bar" d="${bar(span, part, top, BAR)}"/>${span.begins ? begin : ""}` +
    `${notesOf(palla.notes, part, span, top)}</g>`;
}

function notesOf(list, part, span, top) {
  const inside = list.filter(([x]) => holds(part, x));
  if (inside.length === 0) return "";
  const last = part.px(span.to);
  return notes(inside.map(([x, symbol]) => ({ at: part.px(x) + 3, text: symbol })), last, top + BAR - 5);
}

// Notes at their places {at: px, text}, all in one print: of full size where there is room, else as small as the closest
// two ask for. Where even the smallest has no room, the note before carries dots; the tooltip has them all. Bars so narrow that no
// note fits (`until`: where they end) carry none.
export function notes(places, until, y) {
  const ends = [...places.slice(1).map(({ at }) => at), until];
  if (textWidth(places[0].text) * SMALLEST > until - places[0].at + 4) return "";
  const room = places.map(({ at, text }, i) => (ends[i] - at - 1) / textWidth(text)).slice(0, -1);
  const scale = Math.max(SMALLEST, Math.min(1, ...room));
  const shown = [];
  let free = -Infinity;
  for (const { at, text } of places) {
    if (at >= free - 0.05) {
      shown.push({ at, text });
      free = at + textWidth(text) * scale + 1;
    } else if (!shown.at(-1).text.endsWith("…")) {
      shown.at(-1).text += "…";
      free += DOTS * scale;
    }
  }
  if (2 * shown.length < places.length) shown.splice(0, shown.length, { ...places[0], text: `${places[0].text}…` });
  const size = scale === 1 ? "" : ` font-size="${round(PRINT * scale)}"`;
  return shown.map(({ at, text }) => `<text class="note" x="${round(at)}" y="${y}"${size}>${escape(text)}</text>`).join("");
}

function phraseShape(phrase, part, lanesTop) {
  const span = cut(phrase, part);
  if (span === null) return "";
  const top = lanesTop + phrase.lane * LANE;
  const left = part.px(span.from);
  const fits = part.px(span.to) - left - 6;
  const role = span.begins && 0.73 * textWidth(phrase.role) <= fits ? phrase.role : "";
  return `<g class="phrase"><title>${escape(phrase.title)}</title>` +
    `<path class="phrase-bar" d="${bar(span, part, top, BAR)}"/>` +
    `<text class="phrase-role" x="${round(left + 4)}" y="${top + 9}">${escape(role)}</text>` +
    `${notesOf(phrase.notes, part, span, top)}</g>`;
}

function linkShape(link, part, lanesTop) {
  const span = cut(link, part);
  if (span === null) return "";
  const y = lanesTop + link.lane * LANE + BAR / 2;
  const from = part.px(span.from) - (span.begins ? 0 : MARGIN / 3);
  const to = part.px(span.to) + (span.ends ? 0 : MARGIN / 3);
  return `<line class="dam" x1="${round(from)}" x2="${round(to)}" y1="${y}" y2="${y}"/>`;
}

// Where a tihai that did not land was aimed at: an open, broken ring.
function aimShape(aim, part, lanesTop) {
  if (!holds(part, aim.x)) return "";
  return `<g class="aim"><title>${escape(aim.title)}</title>` +
    `<circle cx="${round(part.px(aim.x))}" cy="${lanesTop + aim.lane * LANE + BAR / 2}" r="7"/></g>`;
}

// The signs of the verdicts inside a landing's ring, as words.py has them: on the spot, before it, after it, beside it.
export const SIGNS = {
  lands: (x, y) => `<circle class="landing-dot" cx="${x}" cy="${y}" r="3"/>`,
  early: (x, y) => `<path class="landing-dot" d="M${x - 4} ${y}l6 -3.6v7.2z"/>`,
  late: (x, y) => `<path class="landing-dot" d="M${x + 4} ${y}l-6 -3.6v7.2z"/>`,
  misses: (x, y) => `<path class="landing-cross" d="M${x - 3} ${y - 3}l6 6m0 -6l-6 6"/>`,
};

// Rings above the pallas with a stem through their lane; words beside them, on the other side where there is no room.
function landingShapes(parts, lanesTop, whole) {
  const y = lanesTop - 9;
  const landings = parts.flatMap((part) =>
    part.detail.landings.filter(({ x }) => holds(part, x)).map((landing) => ({ ...landing, at: round(part.px(landing.x)) })));
  let free = 0;
  return landings.sort((a, b) => a.at - b.at).map(({ at, ...landing }, i) => {
    const wide = textWidth(landing.text);
    const right = at + 12 + wide < whole;
    const next = landings[i + 1]?.at ?? Infinity;
    const fits = right ? at + 12 >= free && at + 12 + wide < next - 8 : at - 12 - wide >= free;
    free = fits && right ? at + 14 + wide : at + 10;
    const text = `<text class="landing-text" x="${right ? at + 12 : at - 12}" y="${y + 4}"${right ? "" : ' text-anchor="end"'}>` +
      `${escape(landing.text)}</text>`;
    const foot = lanesTop + landing.lane * LANE + BAR;
    return `<a class="landing ${landing.verdict}" href="${escape(landing.href)}" tabindex="-1">` +
      `<title>${escape(landing.title)}</title><line class="landing-stem" x1="${at}" x2="${at}" y1="${y + 7}" y2="${foot}"/>` +
      `<circle class="landing-ring" cx="${at}" cy="${y}" r="7"/>${SIGNS[landing.verdict]?.(at, y) ?? ""}${fits ? text : ""}</a>`;
  }).join("");
}

// At the sam: a full lozenge where a person marked it, a hollow one where it was tracked.
function samShape({ row, tala, from, px }) {
  if (tala === null || row.first !== 1 || from > 1e-6) return "";
  const kind = row.marked ? "marked" : "tracked";
  const word = row.marked ? "Sam marked by a person" : "Sam found by the tracker";
  return `<g class="sam-sign ${kind}"><title>${word}</title><path d="M${round(px(0))} 0l4.5 4.5l-4.5 4.5l-4.5 -4.5z"/></g>`;
}
