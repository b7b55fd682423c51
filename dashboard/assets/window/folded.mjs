// The folded page in its region: lines made as they come near the window and taken out when they are far from it.
//
// What stands over the lines at some time (cursor, flags, selection) asks `spotOf` where that is, and is put into the sheet by
// the modules that know of it. `refresh()` shows what has been edited since: only rows that changed are fetched and drawn.
import { AN_AVARTAN, HALF, STEPS, lineAt, linesOf, partOf, pxOf, stretchOf, talaOf, timeOfPx } from "../lines.mjs";
import { locate } from "../fold.mjs";
import { layaBit, layaOf, layaScale } from "../laya.mjs";
import { between, layOut } from "../layout.mjs";
import { changedRows, unpack } from "../outline.mjs";
import { MARGIN, drawingWidth, lineSvg } from "../rows.mjs";
import { blockMarkup, divided, gutterMarkup } from "../sheet.mjs";
import { cellsFor } from "../wanted.mjs";
import { desk, isOpen, on, say, tell } from "./desk.mjs";
import { detailOf, keep, want } from "./details.mjs";
import { fetchJson } from "./fetching.mjs";

const NARROW = 560; // px below which a page opens with half an avartan a row
const DRAWING_MS = 6; // of a frame may be spent on drawing lines

let view = null; // {width, gutter, body, side, step, straight, lines, layout, layas, scales, sheet, blocks, drawn, queue}
let tag = null; // of the outline that is shown
let refreshing = null;

export const reach = () => view.step;
export const isStraight = () => view.straight;
export const sheet = () => view.sheet;

on("opened", ({ again }) => {
  const { data, region, signal } = desk;
  const kept = again && view !== null ? { step: view.step, straight: view.straight } : null;
  const scrollTop = region.scrollTop;
  tag = data.tag ?? null;
  if (data.details) keep(data.details);
  view = { width: 0, step: region.clientWidth < NARROW ? HALF : AN_AVARTAN, straight: false, ...kept };
  const resize = new ResizeObserver(() => region.clientWidth !== view.width && lay());
  resize.observe(region);
  signal.addEventListener("abort", () => resize.disconnect());
  region.addEventListener("scroll", revealSoon, { signal, passive: true });
  region.addEventListener("scrollend", reveal, { signal, passive: true });
  lay();
  if (kept !== null) region.scrollTop = scrollTop;
  reveal();
});

on("details", (keys) => {
  for (const [index, { line }] of view.drawn) {
    if (line.parts.some(({ row }) => keys.has(desk.data.rows[row]?.key))) view.queue.add(index);
  }
  drawSoon();
});

// Lay the lines out for the width, closeness and data there are; `anchor` {time_s, y} stays where it is in the window.
function lay(anchor = null) {
  const { region, data } = desk;
  const width = region.clientWidth;
  if (width === 0) return;
  const before = view.drawn ?? new Map();
  const lines = linesOf(data, view.step, view.straight);
  const laidFor = `${width} ${view.step} ${view.straight} ${lines.length}`;
  const layout = layOut(data, lines, view.step);
  const layas = layout.blocks.flatMap(({ first, last }) => {
    const tala = talaOf(data, stretchOf(data, data.rows[lines[first].parts[0].row]));
    return lines.slice(first, last + 1).map((line) => layaOf(line, data.rows, tala, lines[last].parts.at(-1).row));
  });
  const scales = layout.blocks.map(({ first, last }) => layaScale(layas.slice(first, last + 1)));
  Object.assign(view, divided(width), { width, lines, layout, layas, scales });
  Object.assign(view, { blocks: new Map(), drawn: new Map(), queue: new Set() });
  view.old = laidFor === view.laidFor ? before : new Map();
  view.laidFor = laidFor;
  view.sheet ??= Object.assign(document.createElement("div"), { className: "sheet" });
  view.sheet.replaceChildren();
  if (view.sheet.parentElement !== region) region.replaceChildren(view.sheet);
  const widths = layout.blocks.map(({ first }) => drawingWidth(lines[first], view.body));
  view.sheet.style.height = `${layout.height}px`;
  view.sheet.style.width = `${Math.max(...widths, 0) + view.gutter + view.side}px`;
  if (anchor !== null) region.scrollTop = topOf(anchor.time_s) - anchor.y;
  reveal();
  view.old = new Map();
  tell("laid");
}

const topOf = (time_s) => view.layout.lines[Math.max(lineAt(view.lines, time_s), 0)]?.top ?? 0;

// What of the recording is in the window: {from_s, to_s}.
export function shown() {
  const { region } = desk;
  const [first, last] = between(view.layout.lines, region.scrollTop, region.scrollTop + region.clientHeight);
  return { from_s: view.lines[first]?.start_s ?? 0, to_s: view.lines[Math.max(last - 1, 0)]?.end_s ?? 0 };
}

let soon = 0;
function revealSoon() {
  soon ||= requestAnimationFrame(reveal);
}

// Make the lines that are near the window, take out those that are far from it, and ask for what stands in them.
function reveal() {
  cancelAnimationFrame(soon);
  soon = 0;
  if (!isOpen() || !view.lines || view.lines.length === 0) return;
  const { region } = desk;
  const [top, room] = [region.scrollTop, Math.max(region.clientHeight, 200)];
  const { lines, blocks } = view.layout;
  const [first, last] = between(lines, top - 0.7 * room, top + 1.7 * room);
  // a head may be near whose lines are not yet; the line before it belongs to the block before
  const lastBlock = between(blocks, top - 0.7 * room, top + 1.7 * room)[1];
  const firstBlock = blockOf(first);
  for (const [index, { element }] of view.drawn) {
    if (index < first || index >= last) {
      element.remove();
      view.drawn.delete(index);
      view.queue.delete(index);
    }
  }
  for (const [index, element] of view.blocks) {
    if (index < firstBlock || index >= lastBlock) {
      element.remove();
      view.blocks.delete(index);
    }
  }
  for (let index = firstBlock; index < lastBlock; index += 1) if (!view.blocks.has(index)) makeBlock(index);
  for (let index = first; index < last; index += 1) if (!view.drawn.has(index)) makeLine(index);
  const rowsOf = (a, b) => [view.lines[a].parts[0].row, view.lines[b].parts.at(-1).row + 1];
  const [firstRow, lastRow] = rowsOf(first, last - 1);
  const [near, far] = between(lines, top, top + room);
  want({ first: firstRow, last: lastRow, view: rowsOf(near, Math.max(far - 1, near)), cells: cellsOf(near), refresh });
  drawSoon();
  tell("revealed");
}

function cellsOf(index) {
  const line = view.lines[index];
  const [part] = line.parts;
  const px = pxOf(line, part, desk.data.rows, drawingWidth(line, view.body), MARGIN);
  return cellsFor((px(part.to) - px(part.from)) / (part.to - part.from));
}

function makeBlock(index) {
  const block = view.layout.blocks[index];
  const line = view.lines[block.first];
  const stretch = stretchOf(desk.data, desk.data.rows[line.parts[0].row]);
  const drawing = drawingWidth(line, view.body);
  const element = document.createElement("section");
  element.className = "stretch";
  element.innerHTML = blockMarkup(line, stretch, talaOf(desk.data, stretch), view.scales[index], view);
  const [title, names] = element.children;
  const [corner, head, laya] = names.children;
  title.hidden = line.headed;
  set(element, { top: block.top, height: block.height, width: view.gutter + drawing + view.side });
  set(title, { height: block.title });
  set(names, { height: block.names });
  set(corner, { width: view.gutter });
  set(head, { width: drawing });
  set(laya, { width: view.side });
  view.sheet.append(element);
  view.blocks.set(index, element);
}

const set = (element, sizes) => Object.entries(sizes).forEach(([name, px]) => (element.style[name] = `${px}px`));

function makeLine(index) {
  const line = view.lines[index];
  const layout = view.layout.lines[index];
  const blockIndex = blockOf(index);
  const old = view.old.get(index);
  const element = document.createElement("div");
  element.className = "avartan";
  element.dataset.line = index;
  element.innerHTML = `<div class="avartan-number">${gutterMarkup(line, layout, desk.data, view.gutter)}</div>` +
    `<div class="avartan-body"></div><div class="laya-bit"></div>`;
  const [number, body, side] = element.children;
  set(element, { top: layout.top - view.layout.blocks[blockIndex].top, height: layout.height + 1 });
  set(number, { width: view.gutter });
  set(side, { width: view.side });
  const block = view.layout.blocks[blockIndex];
  const layas = {
    before: index > block.first ? view.layas[index - 1] : null,
    here: view.layas[index],
    after: index < block.last ? view.layas[index + 1] : null,
  };
  side.innerHTML = `<svg width="${view.side}" height="${layout.height}" aria-hidden="true">` +
    `${layaBit(layas, view.scales[blockIndex], view.side, layout.height)}</svg>`;
  const entry = { element, line, body, sign: signOf(line, layout), isDrawn: false };
  if (old?.isDrawn) {
    // after an edit: a line like the one before stays as it is, any other until what stands in it is known
    body.replaceChildren(...old.body.childNodes);
    entry.isDrawn = old.sign === entry.sign;
  }
  view.blocks.get(blockIndex).append(element);
  view.drawn.set(index, entry);
  if (!entry.isDrawn) view.queue.add(index);
}

const signOf = (line, { height }) =>
  `${height} ${line.parts.map(({ row, from, to }) => `${desk.data.rows[row].key} ${from} ${to}`).join()}`;

function blockOf(index) {
  return view.layout.blocks.findIndex(({ last }) => index <= last);
}

let drawing = 0;
function drawSoon() {
  drawing ||= requestAnimationFrame(draw);
}

function draw() {
  drawing = 0;
  if (!isOpen()) return;
  const until = performance.now() + DRAWING_MS;
  for (const index of view.queue) {
    view.queue.delete(index);
    drawLine(index);
    if (performance.now() > until) break;
  }
  if (view.queue.size > 0) drawSoon();
}

function drawLine(index) {
  const { line, body } = view.drawn.get(index);
  const known = line.parts.every(({ row }) => detailOf(desk.data.rows[row]) !== undefined);
  if (!known && body.firstChild !== null) return; // what was drawn before an edit stays until the new is known
  body.innerHTML = lineSvg(line, view.layout.lines[index], desk.data, detailOf, view.body);
  view.drawn.get(index).isDrawn = known;
}

// Whether all lines near the window are drawn with all that stands in them.
export const isSettled = () => view.queue.size === 0 && [...view.drawn.values()].every(({ isDrawn }) => isDrawn);

// Where a time stands in the sheet: {index, left, top, height} in px, or null where there is no line.
export function spotOf(time_s) {
  const place = locate(desk.data.rows, time_s);
  const index = place === null ? -1 : lineAt(view.lines, time_s);
  const part = index < 0 ? null : partOf(view.lines[index], place);
  if (part === null) return null;
  const line = view.lines[index];
  const px = pxOf(line, part, desk.data.rows, drawingWidth(line, view.body), MARGIN);
  const { top, height } = view.layout.lines[index];
  return { index, left: view.gutter + px(place.x), top, height };
}

// The pieces of the lines near the window that a stretch of time runs through, in order: [{index, left, width, top, height,
// begins, ends}], the last two telling whether the stretch itself begins or ends in it.
export function spans(from_s, to_s) {
  const pieces = [];
  for (const [index, { line }] of [...view.drawn].sort(([a], [b]) => a - b)) {
    if (line.end_s <= from_s || line.start_s >= to_s) continue;
    const [a, b] = [spotOf(Math.max(from_s, line.start_s)), spotOf(Math.min(to_s, line.end_s) - 1e-6)];
    if (a?.index !== index || b?.index !== index) continue;
    pieces.push({ ...a, width: b.left - a.left, begins: from_s >= line.start_s, ends: to_s <= line.end_s });
  }
  return pieces;
}

// The element of a line, while it is near the window.
export const lineElement = (index) => view.drawn.get(index)?.element ?? null;

// The time that an event of the pointer points at, or null beside the lines; in the column of the laya, where its line begins.
export function timeOfEvent(event) {
  const element = document.elementFromPoint(event.clientX, event.clientY)?.closest("#fold .avartan");
  const line = element ? view.lines[Number(element.dataset.line)] : undefined;
  if (line === undefined) return null;
  const body = element.children[1].getBoundingClientRect();
  if (event.clientX > element.children[2].getBoundingClientRect().left) return line.start_s;
  return timeOfPx(line, desk.data.rows, drawingWidth(line, view.body), MARGIN, event.clientX - body.left);
}

// Scroll a time's line into the window if it is not there; a third from its top.
export function bring(time_s, smoothly = false) {
  const { region } = desk;
  const spot = spotOf(time_s);
  const room = region.clientHeight;
  if (spot === null || region.scrollHeight <= room + 1) return;
  const isIn = spot.top >= region.scrollTop + 90 && spot.top + spot.height <= region.scrollTop + room;
  const left = Math.max(spot.left - region.clientWidth * 0.6, 0);
  const across = spot.left < region.scrollLeft + view.gutter || spot.left > region.scrollLeft + region.clientWidth - view.side;
  if (isIn && !across) return;
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  region.scrollTo({
    top: isIn ? region.scrollTop : spot.top - room / 3,
    left: across ? left : region.scrollLeft,
    behavior: smoothly && !still ? "smooth" : "auto",
  });
}

// Show so much in a row, or unfolded; the time given stays where it is in the window, if it is in it.
export function setReach({ step = view.step, straight = view.straight }, around_s) {
  const { region } = desk;
  const { from_s, to_s } = shown();
  const time_s = around_s >= from_s && around_s <= to_s ? around_s : (from_s + to_s) / 2;
  const y = topOf(time_s) - region.scrollTop;
  Object.assign(view, { step: Math.min(Math.max(step, 0), STEPS.length - 1), straight });
  lay({ time_s, y });
}

// Show what has been edited since; answers with how many rows have changed.
export function refresh() {
  refreshing ??= renew()
    .catch((error) => (error.name === "AbortError" ? 0 : (say(error.message), 0)))
    .finally(() => (refreshing = null));
  return refreshing;
}

async function renew() {
  const { data, region, signal } = desk;
  if (!isOpen() || data.details) return 0;
  const answer = await fetchOutline(data.slug, { known: tag, signal });
  if (answer === null || signal.aborted || answer.version === data.version) return 0;
  const time_s = shown().from_s;
  const y = topOf(time_s) - region.scrollTop;
  tag = answer.tag;
  desk.data = { ...answer, at_s: data.at_s };
  lay({ time_s, y });
  const changed = changedRows(data, desk.data);
  tell("renewed", changed);
  return changed;
}

// The outline of a recording; null when the one that is `known` is the latest, or when it is asked for `early`, before it is
// known whether there is such a recording, and there is none.
export async function fetchOutline(slug, { early = false, ...options } = {}) {
  const answer = await fetchJson(`/outline/${encodeURIComponent(slug)}${early ? "?early" : ""}`, options);
  return answer === null ? null : { ...unpack(answer.content), tag: answer.tag };
}
