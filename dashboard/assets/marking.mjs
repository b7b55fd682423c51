// Marking from the keyboard while the sound plays.
//
// Aim: one pure step from a key to the next state, so that every sequence of keys can be tested without a browser.
// State: what the panel shows and nothing else, so that a time corrected by hand is what the next key builds on:
//   {sams: [s, ...], starts: [s, s, s] (up to three), landing: s or null}
// Keys: "s" sam, "p" a palla begins, "l" it lands, "Escape" drops. Answer of `step`: {state, say}, `say` a line for the status.
import { formatClock, formatSeconds, parseClock } from "./clock.mjs";

const SAME_SAM_S = 0.25; // two presses nearer than this are one sam: no avartan is that short

export function emptyMarks() {
  return { sams: [], starts: [], landing: null };
}

export function step(state, key, time_s) {
  const stay = (say) => ({ state, say });
  const move = (change, say) => ({ state: { ...state, ...change }, say });
  switch (key) {
    case "s":
      return markSam(state, time_s, stay, move);
    case "p":
      return markPalla(state, time_s, stay, move);
    case "l":
      return markLanding(state, time_s, stay, move);
    default:
      return drop(state, stay, move);
  }
}

function markSam(state, time_s, stay, move) {
  if (state.sams.some((sam_s) => Math.abs(sam_s - time_s) < SAME_SAM_S)) return stay("This sam is marked already.");
  const sams = [...state.sams, time_s].sort((a, b) => a - b);
  return move({ sams }, `Sam at ${formatClock(time_s)}. Save it in the panel.`);
}

function markPalla(state, time_s, stay, move) {
  const count = state.starts.length;
  if (state.landing !== null) return stay("A tihai is marked and not saved: save it in the panel, or Esc drops it.");
  if (count === 3) return stay("Three pallas are marked: press l where it lands, or Esc drops them.");
  if (count > 0 && time_s <= state.starts[count - 1]) {
    return stay(`Palla ${count + 1} would begin before palla ${count}: play on, or Esc drops the marks.`);
  }
  const next = count === 2 ? "Now l where it lands." : `Now p where palla ${count + 2} begins.`;
  return move({ starts: [...state.starts, time_s] }, `Palla ${count + 1} begins at ${formatClock(time_s)}. ${next}`);
}

function markLanding(state, time_s, stay, move) {
  const count = state.starts.length;
  if (count < 3) {
    return stay(`Press p where each of the three pallas begins, then l where it lands (${count} of 3 so far).`);
  }
  if (time_s <= state.starts[2]) return stay("The landing would come before the third palla begins: play on, then l.");
  return move({ landing: time_s }, `Lands at ${formatClock(time_s)}. Write the palla in the panel and save.`);
}

function drop(state, stay, move) {
  if (state.starts.length > 0 || state.landing !== null) {
    return move({ starts: [], landing: null }, "The tihai marks are dropped.");
  }
  if (state.sams.length > 0) return move({ sams: [] }, "The sam marks are dropped.");
  return stay("Nothing is waiting to be saved.");
}

// The panel's fields -> state. A field that is not a time is left out: the server says what is wrong with it on saving.
export function fromFields({ sams, starts, landing }) {
  const time = (text) => parseClock(String(text ?? ""));
  return {
    sams: String(sams ?? "").split(/[\s,;]+/).filter(Boolean).map(time).filter((s) => s !== null),
    starts: starts.map(time).filter((s) => s !== null),
    landing: time(landing),
  };
}

// State -> the texts of the panel's fields.
export function toFields({ sams, starts, landing }) {
  return {
    sams: sams.map(formatSeconds).join(" "),
    starts: [0, 1, 2].map((i) => (i < starts.length ? formatSeconds(starts[i]) : "")),
    landing: landing === null ? "" : formatSeconds(landing),
  };
}
