// Flags on the lines, of whatever module has some to show: marks that are not saved, the times of a row being edited, the mark
// that is held.
//
// A flag is {id, time_s, kind, text}, kind being "sam", "palla", "landing" or "edge"; with `move(time_s)` it can be dragged and
// nudged, and is found by `source` and `id` again after it has moved.
import { showFlags } from "./over.mjs";

const sources = new Map();

export function setFlags(source, flags) {
  sources.set(source, flags.map((flag) => ({ ...flag, source })));
  showFlags([...sources.values()].flat());
}

export const movable = () => [...sources.values()].flat().filter(({ move }) => move !== undefined);

export const flagOf = (source, id) => sources.get(source)?.find((flag) => flag.id === id) ?? null;
