// The laya of the lines, drawn down the side: matras a minute, a scale for each stretch.
//
// Conventions: px; x grows with the laya. A line's laya is that of what it shows: its matras over its time.
import { timeAt } from "./fold.mjs";

const round = (value) => Math.round(value * 10) / 10;
const EDGE = 8;

// Matras a minute of a line, or null where time is not counted in matras. The last matra of a stretch (`last`: the row it is
// in) is left out, since nothing tells when it ends.
export function layaOf(line, rows, tala, last) {
  if (tala === null) return null;
  let [matras, time_s] = [0, 0];
  for (const { row, from, to } of line.parts) {
    const until = row === last ? Math.min(to, rows[row].first - 1 + rows[row].t.length - 2) : to;
    if (until - from < 1e-6) continue;
    matras += until - from;
    time_s += timeAt(rows, row, until) - timeAt(rows, row, from);
  }
  return time_s > 0 ? (60 * matras) / time_s : null;
}

// Round ends of a scale around values: {low, high}, or null where there is nothing to show.
export function layaScale(values) {
  const known = values.filter((value) => value !== null);
  if (known.length < 2) return null;
  const [least, most] = [Math.min(...known), Math.max(...known)];
  const about = Math.max(most - least, 0.04 * most) / 2;
  const power = 10 ** Math.floor(Math.log10(about));
  const step = [1, 2, 5, 10].map((each) => each * power).find((each) => each >= about);
  const low = Math.floor(least / step + 1e-9) * step;
  return { low, high: Math.max(Math.ceil(most / step - 1e-9) * step, low + step) };
}

export const layaText = (value) => String(Math.round(value * 10) / 10);

export function layaPx(value, { low, high }, width) {
  return EDGE + ((value - low) / (high - low)) * (width - 2 * EDGE);
}

// The scale's head: its unit and its ends.
export function layaHead(scale, width) {
  if (scale === null) return '<div class="laya-head"></div>';
  const [low, high] = [layaText(scale.low), layaText(scale.high)];
  return `<div class="laya-head" title="Laya, matras a minute; a click in the column below goes there">` +
    `<svg width="${width}" height="28" role="img" aria-label="Laya, from ${low} to ${high} matras a minute">` +
    `<text x="${width / 2}" y="11">${width < 50 ? "m/min" : "matras/min"}</text><text class="low" x="3" y="24">${low}</text>` +
    `<text class="high" x="${width - 4}" y="24">${high}</text></svg></div>`;
}

// A line's piece of the tempo line: from half way from the one before, through its own laya, to half way to the next.
export function layaBit({ before, here, after }, scale, width, height) {
  if (here === null || scale === null) return "";
  const x = (value) => round(layaPx(value, scale, width));
  const points = [`${x(here)} ${round(height / 2)}`];
  if (before !== null) points.unshift(`${x((before + here) / 2)} 0`);
  if (after !== null) points.push(`${x((after + here) / 2)} ${height}`);
  const ruled = [scale.low, scale.high].map((value) => `<line class="laya-rule" x1="${x(value)}" x2="${x(value)}" y1="0" y2="${height}"/>`);
  return `${ruled.join("")}<path class="laya-line" d="M${points.join("L")}"/>` +
    `<circle class="laya-dot" cx="${x(here)}" cy="${round(height / 2)}" r="2.5"/>`;
}
