// Hearing a composed piece: its strokes and the theka, placed on the clock of the sound card a little ahead of time.
//
// What sounds when is told by hear.mjs; the sounds come from the server, one stroke each, and are kept. `listen(answer)` is told
// {playing, score, place} as the sound goes on.
import { THEKA, due, loopOf, placeAt, soundsOf } from "../hear.mjs";
import { latency_s, ready } from "./mixer.mjs";

const AHEAD_S = 1; // so much is placed in advance: a busy machine may come to it late by most of that
const AHEAD_HIDDEN_S = 2.5; // in a window that is not looked at, timers come late
const EVERY_MS = 80;
const SOON_S = 0.12; // from pressing play to the first sound
const FADE_S = 0.03;
const THEKA_LEVEL = 0.5;

const scores = new Map();
const sounds = new Map();
let playing = null; // {address, score, loop, settings, begun_s, matra_s, upTo, timer, nodes, out, theka}
let wanted = null; // the address that was asked for last: what comes later than another wish is let go
let told = () => {};

export const listen = (answer) => (told = answer);
export const addressPlaying = () => playing?.address ?? null;

// Fetch what a piece needs, so that it sounds at once when it is wanted.
export async function prepare(address, { sa }) {
  const score = await scoreAt(address);
  await Promise.all(soundsOf(score).map((name) => soundBytes(name, sa)));
  return score;
}

// Play what an address names, from its lead-in; settings are {laya, sa, theka}.
export async function play(address, settings) {
  stop();
  wanted = address;
  const [{ context }, score] = await Promise.all([ready(), prepare(address, settings)]);
  const buffers = await buffersOf(context, score, settings.sa);
  if (wanted !== address) return;
  const out = new GainNode(context);
  const theka = new GainNode(context, { gain: settings.theka ? THEKA_LEVEL : 0 });
  theka.connect(out).connect(context.destination);
  const begun_s = context.currentTime + SOON_S;
  const loop = loopOf(score);
  playing = { address, context, score, loop, buffers, settings, begun_s, matra_s: 60 / settings.laya, upTo: 0, nodes: new Set(), out, theka };
  place();
  playing.timer = setInterval(place, EVERY_MS);
  requestAnimationFrame(follow);
  told({ playing: true, score, place: placeAt(score, 0) });
}

export function stop() {
  wanted = null;
  if (playing === null) return;
  const { context, nodes, out, timer, score } = playing;
  clearInterval(timer);
  out.gain.setTargetAtTime(0, context.currentTime, FADE_S / 3);
  for (const node of nodes) node.stop(context.currentTime + FADE_S * 2);
  setTimeout(() => out.disconnect(), 1000);
  playing = null;
  told({ playing: false, score, place: null });
}

// Take other settings over while it plays: another laya goes on from where it is, another Sa needs other sounds.
export function adjust(settings) {
  if (playing === null) return;
  const { context, theka } = playing;
  theka.gain.setTargetAtTime(settings.theka ? THEKA_LEVEL : 0, context.currentTime, 0.02);
  if (settings.sa !== playing.settings.sa) return void play(playing.address, settings);
  if (settings.laya !== playing.settings.laya) {
    const now_s = context.currentTime;
    const x = Math.max((now_s - playing.begun_s) / playing.matra_s, 0);
    for (const node of playing.nodes) if (node.starts_s > now_s) node.stop();
    playing.matra_s = 60 / settings.laya;
    playing.begun_s = now_s - x * playing.matra_s;
    playing.upTo = x;
  }
  playing.settings = settings;
  place();
}

// Put what sounds soon on the clock.
function place() {
  if (playing === null) return;
  const { context, begun_s, matra_s, loop, score } = playing;
  const ahead_s = document.hidden ? AHEAD_HIDDEN_S : AHEAD_S;
  const to = (context.currentTime + ahead_s - begun_s) / matra_s;
  if (to <= playing.upTo) return;
  for (const each of due(loop, score.matras, playing.upTo, to)) sound(each);
  playing.upTo = to;
}

function sound({ x, sound: name, level, matras, part }) {
  const { context, begun_s, matra_s, buffers, out, theka, nodes } = playing;
  if (!buffers.has(name)) return;
  const at_s = Math.max(begun_s + x * matra_s, context.currentTime);
  const node = new AudioBufferSourceNode(context, { buffer: buffers.get(name) });
  const gain = new GainNode(context, { gain: level });
  node.connect(gain).connect(part === THEKA ? theka : out);
  node.starts_s = at_s;
  node.start(at_s);
  if (name.startsWith("pluck")) {
    const end_s = at_s + matras * matra_s;
    gain.gain.setValueAtTime(level, end_s);
    gain.gain.setTargetAtTime(0, end_s, FADE_S);
    node.stop(end_s + FADE_S * 8);
  }
  nodes.add(node);
  node.addEventListener("ended", () => nodes.delete(node));
}

function follow() {
  if (playing === null) return;
  const { context, begun_s, matra_s, score } = playing;
  const x = (context.currentTime - latency_s() - begun_s) / matra_s;
  if (x >= 0) told({ playing: true, score, place: placeAt(score, x) });
  requestAnimationFrame(follow);
}

async function scoreAt(address) {
  if (!scores.has(address)) {
    const fetched = fetch(address).then(async (answer) => {
      const content = await answer.json();
      if (!answer.ok) throw new Error(content.error);
      return content;
    });
    fetched.catch(() => scores.delete(address));
    scores.set(address, fetched);
  }
  return scores.get(address);
}

function soundBytes(name, sa) {
  const address = `/compose/sound/${name}.flac?sa=${sa}`;
  if (!sounds.has(address)) {
    const fetched = fetch(address).then((answer) => (answer.ok ? answer.arrayBuffer() : null));
    fetched.catch(() => sounds.delete(address));
    sounds.set(address, { bytes: fetched, buffer: null });
  }
  return sounds.get(address).bytes;
}

async function buffersOf(context, score, sa) {
  const decoded = await Promise.all(
    soundsOf(score).map(async (name) => {
      const bytes = await soundBytes(name, sa);
      const kept = sounds.get(`/compose/sound/${name}.flac?sa=${sa}`);
      kept.buffer ??= bytes === null ? null : await context.decodeAudioData(bytes.slice(0));
      return [name, kept.buffer];
    }),
  );
  return new Map(decoded.filter(([, buffer]) => buffer !== null));
}
