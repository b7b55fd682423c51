// A piece's run through the cycles, drawn as on the Cycles page: lines of avartans under the theka.
//
// Conventions: as in rows.mjs, a matra being a second long. `data` comes from dashboard/composing/run.py.
import { locate } from "./fold.mjs";
import { lineLayout } from "./layout.mjs";
import { AN_AVARTAN, HALF, linesOf, partOf, pxOf } from "./lines.mjs";
import { timesOf } from "./outline.mjs";
import { MARGIN, NARROWEST_COLUMN, drawingWidth, escape, lineSvg } from "./rows.mjs";
import { headSvg } from "./sheet.mjs";

export const GUTTER = 34; // px for the avartan's number
const SEMITONE = 4; // there is no melody to draw, but a line's layout asks for it

// The data with the rows' times as the drawing wants them.
export function unpacked(data) {
  return { ...data, rows: data.rows.map(({ ticks, ...row }) => ({ ...row, t: timesOf(ticks) })) };
}

// {markup, spotOf}: the drawing in `width` px, and where in it a place is: {left, top, height} or null.
export function drawnRun(data, width) {
  const { tala: key, rows } = data;
  const tala = data.talas[key];
  const halves = width - GUTTER < tala.matras * NARROWEST_COLUMN * 0.75;
  const lines = linesOf(data, halves ? HALF : AN_AVARTAN, false);
  const body = Math.max(width - GUTTER, 160);
  let top = halves ? 0 : 56;
  const heads = halves ? "" : `<div class="run-head">${headSvg(lines[0], data.stretches[0], tala, body)}</div>`;
  const placed = [];
  const markup = lines.map((line, index) => {
    const layout = lineLayout(line, data, SEMITONE);
    placed.push({ line, top, height: layout.height });
    top += layout.height + 1;
    const first = index === 0 || lines[index - 1].label !== line.label;
    const svg = lineSvg(line, layout, data, (row) => row.detail, body);
    return `<div class="run-line"><b>${first ? escape(line.label) : ""}</b>${svg}</div>`;
  });
  const spotOf = (time) => {
    const place = locate(rows, time);
    const found = place === null ? undefined : placed.find(({ line }) => partOf(line, place) !== null && line.start_s <= time && time < line.end_s);
    if (found === undefined) return null;
    const part = partOf(found.line, place);
    const px = pxOf(found.line, part, rows, drawingWidth(found.line, body), MARGIN);
    return { left: GUTTER + px(place.x), top: found.top, height: found.height };
  };
  return { markup: heads + markup.join(""), spotOf };
}
