// The reel: a recording played as passages laid end to end, slowly, in a loop, or both.
//
// Aim: say which passage sounds when, to the sample, so that a loop has no gap and whatever is struck under it (beats.mjs)
// comes on the spot. Sound is fetched in pieces that all begin at multiples of PIECE_S, so that pieces can be kept; a piece
// has LEAD_S of sound before its start, for fading in.
// Conventions: times in the recording end in _s; `at` and `lasts` are seconds of playing, counted from where the reel began;
// `speed` is a share, 0.25 to 1.

export const PIECE_S = 5;
export const LEAD_S = 0.05;
const SHORTEST_S = 1e-6; // what is shorter is the rounding of sums

// What a piece holds, as it is asked for: {from_ms, to_ms}.
export function pieceBounds(piece) {
  const start_ms = piece * PIECE_S * 1000;
  return { from_ms: Math.max(start_ms - LEAD_S * 1000, 0), to_ms: start_ms + PIECE_S * 1000 };
}

// Where a reel that is to start at `place_s` does start: outside a loop or passage, at its beginning.
export function startOf(place_s, stretch) {
  if (stretch === null || (place_s >= stretch.from_s && place_s < stretch.to_s - 0.05)) return place_s;
  return stretch.from_s;
}

// The first span of a reel, and the one after a span; null where the reel ends. A span is {from_s, to_s, piece, at, lasts, seam}:
// `seam` says how it begins: "start", "on" (what was before goes on) or "return" (a loop comes back).
// `reel` is {start_s, speed, loop, end_s}: `loop` {from_s, to_s} or null, `end_s` where the sound ends, or the passage.
export function firstSpan(reel) {
  return span(reel, reel.start_s, 0, "start");
}

export function nextSpan(reel, { to_s, at, lasts }) {
  const { loop } = reel;
  if (loop !== null && to_s >= loop.to_s - SHORTEST_S && to_s <= loop.to_s + SHORTEST_S) {
    return span(reel, loop.from_s, at + lasts, "return");
  }
  return span(reel, to_s, at + lasts, "on");
}

function span({ speed, loop, end_s }, from_s, at, seam) {
  const piece = Math.floor(from_s / PIECE_S + SHORTEST_S);
  const stops = [(piece + 1) * PIECE_S, end_s, ...(loop !== null && from_s < loop.to_s ? [loop.to_s] : [])];
  const to_s = Math.min(...stops);
  if (to_s - from_s < SHORTEST_S) return null;
  return { from_s, to_s, piece, at, lasts: (to_s - from_s) / speed, seam };
}

// The place in the recording `at` seconds after a reel began, of spans in order; the nearest there is before and after them.
export function placeAt(spans, speed, at) {
  const current = spans.findLast((each) => each.at <= at) ?? spans[0];
  return Math.min(current.from_s + Math.max(at - current.at, 0) * speed, current.to_s);
}
