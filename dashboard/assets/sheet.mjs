// The whole folded page as text: stretches one below the other, each with its head and its rows still empty.
//
// A row knows its height beforehand, so the page has its full length at once and a row is drawn (rows.mjs) when it comes
// into view. Conventions as in rows.mjs and fold.mjs.
import { formatClock } from "./clock.mjs";
import { GUTTER, MARGIN, drawingWidth, headSvg, rowLayout } from "./rows.mjs";

const escape = (text) => String(text).replace(/[&<>"]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[c]);

const NOWHERE = { title: "not counted in matras", tala: null, columns: 4, column_s: 5 };

export const stretchOf = (data, row) => (row.stretch < 0 ? NOWHERE : data.stretches[row.stretch]);
export const talaOf = (data, stretch) => (stretch.tala === null ? null : data.talas[stretch.tala]);

// Width in px that the drawings take beside the gutter when the sheet may be `width` px wide.
export const bodyWidth = (width) => width - GUTTER;

export function sheetMarkup(data, width) {
  const parts = [];
  data.rows.forEach((row, index) => {
    if (index === 0 || row.stretch !== data.rows[index - 1].stretch) {
      if (index > 0) parts.push("</section>");
      parts.push(stretchHead(data, row, width));
    }
    parts.push(rowFrame(row, index));
  });
  if (data.rows.length > 0) parts.push("</section>");
  return parts.join("");
}

function stretchHead(data, row, width) {
  const stretch = stretchOf(data, row);
  const tala = talaOf(data, stretch);
  const whole = Math.ceil(drawingWidth(stretch.columns, bodyWidth(width))) + GUTTER;
  const corner = tala === null ? "seconds" : "avartan<br>matra";
  return `<section class="stretch" style="width:${whole}px"><h3>${escape(stretch.title)}` +
    `${stretch.laya ? ` <span class="laya">${escape(stretch.laya)}</span>` : ""}</h3>` +
    `<div class="theka"><span class="corner" style="width:${GUTTER}px">${corner}</span>` +
    `${headSvg(stretch, tala, bodyWidth(width))}</div>`;
}

function rowFrame(row, index) {
  return `<div class="avartan" data-row="${index}" style="height:${rowLayout(row).height}px">` +
    `<div class="avartan-number" style="width:${GUTTER}px"><b>${escape(row.label)}</b>` +
    `<span>${formatClock(row.t[0])}</span></div><div class="avartan-body"></div></div>`;
}

// Where the cursor of a place stands inside its row's body, px.
export function cursorPx(x, stretch, width) {
  const column = (drawingWidth(stretch.columns, bodyWidth(width)) - 2 * MARGIN) / stretch.columns;
  return MARGIN + x * column;
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
