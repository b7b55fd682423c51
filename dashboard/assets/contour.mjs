// The melody in a line: the raga's swaras as ruled lines with their names, and the course of the melody over them, as text.
//
// Conventions: pitches in semitones or cents above the middle Sa; lane = {top, low, high, semitone, height} from layout.mjs.
// What is silent is a gap, and so is a leap from one frame to the next: a stroke on another fret, not a glide.

const LEAP_CENTS = 250;
const NAME_PX = 9; // a name needs so much room above and below the next one in its column
const NAMED_FROM = 3; // px a semitone; below that only Sa is ruled

const round = (value) => Math.round(value * 10) / 10;
export const yOf = (lane, cents) => lane.top + (lane.high - cents / 100) * lane.semitone;

// A swara with its octave as it is typed: S' upper, .n lower.
export function symbolOf(letter, octave) {
  return octave < 0 ? ".".repeat(Math.min(-octave, 2)) + letter : letter + "'".repeat(Math.min(octave, 2));
}

// The swaras that a lane holds, lowest first: [{semitone, letter, octave, said, sa}].
export function swarasIn(lane, swaras) {
  const found = [];
  for (let semitone = Math.ceil(lane.low); semitone <= lane.high; semitone += 1) {
    const step = ((semitone % 12) + 12) % 12;
    const { letter, said, used } = swaras[step];
    if (used) found.push({ semitone, letter, said, octave: Math.floor(semitone / 12), sa: step === 0 });
  }
  return found;
}

export function ruledSwaras(lane, swaras, left, right) {
  return swarasIn(lane, swaras)
    .filter(({ sa }) => sa || lane.semitone >= NAMED_FROM)
    .map(({ semitone, sa }) => {
      const y = round(yOf(lane, 100 * semitone));
      return `<line class="swara-rule${sa ? " sa" : ""}" x1="${round(left)}" x2="${round(right)}" y1="${y}" y2="${y}"/>`;
    })
    .join("");
}

// The names beside the lines, in two columns so that neighbours have room; Sa first, then from below as many as fit.
export function swaraNames(lane, swaras, width) {
  const all = swarasIn(lane, swaras).map((each, i) => ({ ...each, y: yOf(lane, 100 * each.semitone), column: i % 2 }));
  if (lane.semitone < NAMED_FROM) all.splice(0, all.length, ...all.filter(({ sa }) => sa));
  const shown = [];
  for (const each of [...all.filter(({ sa }) => sa), ...all.filter(({ sa }) => !sa)]) {
    const free = (column) => shown.every((other) => other.column !== column || Math.abs(other.y - each.y) >= NAME_PX);
    const column = [each.column, 1 - each.column].find(free);
    if (column !== undefined) shown.push({ ...each, column });
  }
  return shown
    .map(({ letter, octave, said, y, column, sa }) => {
      const x = width - 4 - column * 13;
      return `<text class="swara-name${sa ? " sa" : ""}" x="${x}" y="${round(y + 3.2)}"><title>${said}</title>${symbolOf(letter, octave)}</text>`;
    })
    .join("");
}

// The course of the melody between two times as two paths, one where the lead surely sounds and one where it may.
// `melody` = {from_s, step_s, cents, unsure} as figures/contour.py makes it; `px` gives the place of a time.
export function contourPaths(melody, lane, from_s, to_s, px) {
  const { cents, step_s } = melody;
  const first = Math.max(0, Math.floor((from_s - melody.from_s) / step_s));
  const last = Math.min(cents.length - 1, Math.ceil((to_s - melody.from_s) / step_s));
  const unsure = new Set(melody.unsure.flatMap(([a, b]) => Array.from({ length: b - a }, (_, i) => a + i)));
  const paths = { sure: "", unsure: "" };
  let kind = null;
  for (let i = first; i <= last; i += 1) {
    if (cents[i] === null) {
      kind = null;
      continue;
    }
    const now = unsure.has(i) ? "unsure" : "sure";
    const at = `${round(px(melody.from_s + i * step_s))} ${round(yOf(lane, cents[i]))}`;
    const leaps = kind === null || Math.abs(cents[i] - cents[i - 1]) > LEAP_CENTS;
    if (leaps) paths[now] += `M${at}h.1`; // a frame that stands alone is a dot
    else if (now === kind) paths[now] += `L${at}`;
    else paths[now] += `M${round(px(melody.from_s + (i - 1) * step_s))} ${round(yOf(lane, cents[i - 1]))}L${at}`;
    kind = now;
  }
  return paths;
}
