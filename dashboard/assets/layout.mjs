// How high lines are and where they stand, before anything is drawn: the page has its full length at once, and only the
// lines near the window exist.
//
// Conventions: px. A line's lanes from top to bottom: the names of its matras (where it is headed), tihais, phrases, melody,
// strokes. A lane that nothing runs through takes no room. Lines of one stretch stand in one block under its head.
import { lastAtOrBefore } from "./fold.mjs";
import { STEPS, stretchOf } from "./lines.mjs";

export const BAR = 26; // height of a palla or a phrase: a small line of print, and its notes
export const LANE = BAR + 4;
export const VERDICTS = 21; // room for the words beside a landing, where there is one
export const TREBLE = 24; // height of the strongest treble stroke, above the line
export const BASS = 15; // and of the strongest bass stroke, below it
export const NAMES = 32; // the matras' bols and numbers in a line of its own
const EDGE = 5;
const LOWEST = 44; // an empty line still has room for its number and time
const TITLE = 42; // of a block
const THEKA = 56;
const SECONDS = 30;

const most = (parts, rows, name) => parts.reduce((sum, { row }) => Math.max(sum, rows[row][name]), 0);

// The semitones that a line's melody needs, or null.
export function rangeOf(parts, rows) {
  const ranges = parts.map(({ row }) => rows[row].range).filter(Boolean);
  if (ranges.length === 0) return null;
  return [Math.min(...ranges.map(([low]) => low)), Math.max(...ranges.map(([, high]) => high))];
}

export function lineLayout({ parts, headed }, { rows, strokes }, semitone) {
  const tihais = EDGE + (headed ? NAMES : 0) + (most(parts, rows, "landings") > 0 ? VERDICTS : 0);
  const phrases = tihais + most(parts, rows, "tihais") * LANE;
  const top = phrases + most(parts, rows, "phrases") * LANE;
  const range = rangeOf(parts, rows);
  const melody = range === null ? null : { top, low: range[0], high: range[1], semitone, height: (range[1] - range[0]) * semitone };
  const below = top + (melody === null ? 0 : melody.height + EDGE);
  const line = strokes ? below + TREBLE : null;
  const height = Math.max(Math.ceil(strokes ? below + TREBLE + BASS + EDGE : below + EDGE), LOWEST + (headed ? NAMES / 2 : 0));
  return { tihais, phrases, melody, line, height };
}

// All lines one below the other: {lines: [{top, ...layout}], blocks: [{stretch, first, last, top, title, names, height}], height}.
export function layOut(data, lines, step) {
  const placed = [];
  const blocks = [];
  let top = 0;
  lines.forEach((line, index) => {
    if (index === 0 || line.stretch !== lines[index - 1].stretch) {
      const names = line.headed || stretchOf(data, data.rows[line.parts[0].row]).tala === null ? SECONDS : THEKA;
      const title = line.headed ? 0 : TITLE; // it stands beside where the names would be
      blocks.push({ stretch: line.stretch, first: index, last: index, top, title, names });
      top += title + names;
    }
    const layout = lineLayout(line, data, STEPS[step].semitone);
    placed.push({ ...layout, top });
    top += layout.height + 1;
    Object.assign(blocks.at(-1), { last: index, height: top - blocks.at(-1).top });
  });
  return { lines: placed, blocks, height: top };
}

// First and last (exclusive) of the lines or blocks that have anything between two heights.
export function between(placed, from, to) {
  const first = Math.max(lastAtOrBefore(placed, from, (each) => each.top), 0);
  return [first, lastAtOrBefore(placed, to, (each) => each.top) + 1];
}
