// What sounds of a composed piece, and when: a loop of theka and strokes, laid end to end.
//
// Conventions: x counts matras from the first sound of the first loop. A score is {matras, avartan, lead_in, events, theka}
// (dashboard/composing/score.py): `events` within the loop, `theka` within an avartan, each [x, sound, level, matras]. An event
// may stand at the loop's very end: it comes with the first sound of the next.

export const PIECE = "piece";
export const THEKA = "theka";

// All that sounds in one loop, by x: [{x, sound, level, matras, part}].
export function loopOf({ matras, avartan, events, theka }) {
  const sounds = events.map(([x, sound, level, length]) => ({ x, sound, level, matras: length, part: PIECE }));
  for (let begin = 0; begin < matras; begin += avartan) {
    for (const [x, sound, level] of theka) sounds.push({ x: begin + x, sound, level, matras: null, part: THEKA });
  }
  return sounds.sort((a, b) => a.x - b.x);
}

// What sounds from x `from` up to, not with, `to`, however often the loop comes round in between.
export function due(loop, matras, from, to) {
  const found = [];
  for (let round = Math.max(Math.floor(from / matras) - 1, 0); round * matras < to; round += 1) {
    for (const each of loop) {
      const x = round * matras + each.x;
      if (x >= from && x < to) found.push({ ...each, x });
    }
  }
  return found.sort((a, b) => a.x - b.x);
}

// The names of all sounds of a score, each once.
export const soundsOf = ({ events, theka }) => [...new Set([...events, ...theka].map(([, sound]) => sound))];

// Where the loop is at x: {leadIn, avartan, matra, run}: `run` counts matras from the sam of the cycle the piece begins in and is
// negative in the lead-in; `matra` counts from 1.
export function placeAt({ matras, avartan, lead_in }, x) {
  const along = ((x % matras) + matras) % matras;
  const run = along - lead_in;
  const inside = ((run % avartan) + avartan) % avartan;
  return { leadIn: run < 0, avartan: Math.floor(run / avartan) + 1, matra: Math.floor(inside + 1e-6) + 1, run };
}

// The place in words, for those who do not see the cursor.
export function placeSaid(place) {
  return place.leadIn ? `lead-in, matra ${place.matra}` : `avartan ${place.avartan}, matra ${place.matra}`;
}
