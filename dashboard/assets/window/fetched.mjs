// Sounds fetched from the server, decoded and kept: pieces of a recording at a speed, and the strokes of the theka.
import { PIECE_S, pieceBounds } from "../reel.mjs";

const KEPT_S = 160; // of sound as it is played, some 60 MB of stereo

const BUSY = 503; // others have passages slowed down at the moment
const TRIES = 20;
const AGAIN_MS = 400;

const pieces = new Map(); // key -> {promise, buffer}, the one used last at the end
const strokes = new Map();

async function fetched(context, address) {
  let answer = await fetch(address);
  for (let tries = 0; answer.status === BUSY && tries < TRIES; tries += 1) {
    await new Promise((later) => setTimeout(later, AGAIN_MS));
    answer = await fetch(address);
  }
  if (!answer.ok) throw new Error((await answer.text()).trim());
  return context.decodeAudioData(await answer.arrayBuffer());
}

const addressOf = (slug, number, speed) => {
  const { from_ms, to_ms } = pieceBounds(number);
  return `/passage/${encodeURIComponent(slug)}?from_ms=${from_ms}&to_ms=${to_ms}&speed=${speed}`;
};

// Let the server slow down what is likely to be played next, so that it is there when it is.
export function makeReady(slug, time_s, speed) {
  fetch(addressOf(slug, Math.floor(time_s / PIECE_S), speed)).catch(() => {}); // whoever plays it is told
}

// A piece of a recording at a speed in percent: {promise, buffer}, `buffer` null until it is there. A piece that could not
// be had is asked for again when it is wanted again.
export function piece(context, slug, number, speed) {
  const key = `${slug} ${number} ${speed}`;
  const known = pieces.get(key);
  if (known !== undefined) {
    pieces.delete(key);
    pieces.set(key, known);
    return known;
  }
  const made = { buffer: null, begins_s: pieceBounds(number).from_ms / 1000 };
  made.promise = fetched(context, addressOf(slug, number, speed)).then(
    (buffer) => {
      made.buffer = buffer;
      dropOldest();
      return made;
    },
    (error) => {
      pieces.delete(key);
      throw error;
    },
  );
  made.promise.catch(() => {}); // whoever waits for it is told
  pieces.set(key, made);
  return made;
}

function dropOldest() {
  let held_s = [...pieces.values()].reduce((sum, { buffer }) => sum + (buffer?.duration ?? 0), 0);
  for (const [key, { buffer }] of pieces) {
    if (held_s <= KEPT_S) return;
    if (buffer === null) continue;
    held_s -= buffer.duration;
    pieces.delete(key);
  }
}

// The buffers of strokes by name, once all are there; a stroke that could not be had is left out.
export async function strokeBuffers(context, slug, sounds) {
  const found = await Promise.all(
    sounds.map(async (sound) => {
      const key = `${slug} ${sound}`;
      if (!strokes.has(key)) strokes.set(key, fetched(context, `/listening/${encodeURIComponent(slug)}/${sound}.flac`));
      return [sound, await strokes.get(key).catch(() => strokes.delete(key) && null)];
    }),
  );
  return Object.fromEntries(found.filter(([, buffer]) => buffer !== null));
}

// What there is beside the sound of a recording (dashboard/listening.py); empty where it could not be had.
export async function besideSound(slug) {
  const answer = await fetch(`/listening/${encodeURIComponent(slug)}`).catch(() => null);
  return answer?.ok ? answer.json() : { channels: null, theka: {}, tihais: [], phrases: [] };
}
