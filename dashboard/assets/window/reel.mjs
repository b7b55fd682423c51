// Plays a reel (../reel.mjs): passages laid end to end on the mixer's clock, with clicks and theka laid under them.
//
// A reel that is to go on elsewhere, at another speed or in another loop is a new one: `begin` fetches what it needs first,
// while the one before goes on, and then changes over in a few ms.
import { matrasBetween, strokesBetween } from "../beats.mjs";
import { LEAD_S, firstSpan, nextSpan, placeAt } from "../reel.mjs";
import { piece } from "./fetched.mjs";
import { clickBuffer, latency_s, ready } from "./mixer.mjs";

const LOUDER = 2; // passages come at half their loudness (ingest/passage_sound.py)
const AHEAD_S = 4; // so much is laid ahead: timers of a window nobody looks at run once a second
const LOOK_MS = 200;
const SOON_S = 0.1; // from laying the first sound to hearing it; a busy machine may need more
const LATEST_S = 0.8; // it is given no more than that
const SHORT_FADE_S = 0.005;
const SLOW_FADE_S = 0.03; // where two pieces of slowed sound meet, which are not the same to the sample
const STILL_S = 0.02; // a beat so shortly before the start is still struck

let reel = null; // what plays
let begun = 0; // counts beginnings, so that one that took long is dropped when there has been another

export const isRunning = () => reel !== null;

// The place that is heard now, or was heard so long ago; or null.
export function place(ago_s = 0) {
  if (reel === null) return null;
  return placeIn(-latency_s() - ago_s);
}

// The place that the reel comes to in so many seconds, not counting the way to the ear.
export function placeIn(seconds) {
  const { context, start, spans, plan } = reel;
  return spans.length === 0 ? plan.start_s : placeAt(spans, plan.speed, context.currentTime + seconds - start);
}

// Begin a reel: {slug, startIn, speed (percent), loop, end_s, beats: {data, thekas, buffers}, ended, failed}. `startIn(seconds)`
// tells where to start when it is to start in so many seconds; it is asked once the sound is there. Gives the time of the
// context at which the reel starts, or null when another was begun meanwhile.
export async function begin(wanted) {
  begun += 1;
  const mine = begun;
  const { context, recording, clicks, theka } = await ready();
  const first = firstSpan(shape(wanted, wanted.startIn(SOON_S)));
  if (first !== null) await piece(context, wanted.slug, first.piece, wanted.speed).promise;
  if (mine !== begun) return null;
  const plan = shape(wanted, wanted.startIn(SOON_S));
  for (let soon_s = SOON_S; ; soon_s *= 2) {
    const start = context.currentTime + soon_s;
    const gain = new GainNode(context, { gain: LOUDER });
    gain.connect(recording);
    end(start);
    reel = { wanted, plan, context, clicks, theka, gain, start, spans: [], voices: [], waits: null, done: false };
    reel.timer = setInterval(look, LOOK_MS);
    look();
    // what is laid when its time has gone sounds at once, late by so much, and no longer with its beats: lay all of it again
    if (mine !== begun || soon_s >= LATEST_S || context.currentTime < start - SHORT_FADE_S) return start;
  }
}

const shape = ({ speed, loop, end_s }, start_s) => ({ start_s, speed: speed / 100, loop, end_s });

// Stop; returns the place that was heard last, or null.
export function stop() {
  begun += 1;
  const at_s = place();
  if (reel !== null) end(reel.context.currentTime + SHORT_FADE_S);
  return at_s;
}

// Let what plays end at a time of the context, fading out just before.
function end(time) {
  if (reel === null) return;
  const { gain, voices, timer, context } = reel;
  clearInterval(timer);
  gain.gain.setValueAtTime(LOUDER, Math.max(time - SHORT_FADE_S, context.currentTime));
  gain.gain.linearRampToValueAtTime(0, time);
  for (const { source, begins } of voices) source.stop(begins >= time ? 0 : time + (source.rings ? 3 : 0));
  reel = null;
}

// Lay what comes next; called again and again.
function look() {
  const { context, wanted } = reel;
  while (!reel.done && due() < context.currentTime + AHEAD_S) {
    const span = following();
    if (span === null) {
      reel.done = true;
      break;
    }
    const fetched = piece(context, wanted.slug, span.piece, wanted.speed);
    if (fetched.buffer === null) return waitFor(fetched);
    if (due() < context.currentTime) return startAgain(span.from_s);
    lay(span, fetched);
  }
  fetchAhead();
  forget();
  if (reel.done && context.currentTime > due()) finish();
}

const following = () => (reel.spans.length === 0 ? firstSpan(reel.plan) : nextSpan(reel.plan, reel.spans.at(-1)));

const due = () => (reel.spans.length === 0 ? reel.start : reel.start + reel.spans.at(-1).at + reel.spans.at(-1).lasts);

function waitFor(fetched) {
  if (reel.waits === fetched) return;
  reel.waits = fetched;
  fetched.promise.then(
    () => reel?.waits === fetched && look(),
    (error) => reel?.waits === fetched && finish(error),
  );
}

// A piece came too late to be laid on time.
function startAgain(start_s) {
  begin({ ...reel.wanted, startIn: () => start_s }).catch((error) => finish(error));
}

function finish(error = null) {
  if (reel === null) return;
  const { wanted, context, spans, plan } = reel;
  const at_s = spans.at(-1)?.to_s ?? plan.start_s;
  end(context.currentTime + SHORT_FADE_S);
  begun += 1;
  if (error === null) wanted.ended(at_s);
  else wanted.failed(error, at_s);
}

function fetchAhead() {
  const { context, wanted } = reel;
  const next = following();
  if (next !== null) piece(context, wanted.slug, next.piece, wanted.speed);
}

// Spans and voices that are over are forgotten, all but the last.
function forget() {
  const now = reel.context.currentTime - 1;
  while (reel.spans.length > 1 && reel.start + reel.spans[1].at < now) reel.spans.shift();
  reel.voices = reel.voices.filter(({ ends }) => ends > now);
}

function lay(span, fetched) {
  const { context, start, plan, gain } = reel;
  const { speed } = plan;
  const slow = speed < 1;
  const begins = start + span.at;
  const ends = begins + span.lasts;
  const fadeIn = fadeOf(span.seam, slow);
  const lead_s = Math.min(fadeIn * speed, span.from_s - fetched.begins_s, LEAD_S);
  const envelope = new GainNode(context, { gain: 0 });
  envelope.connect(gain);
  rise(envelope.gain, begins - lead_s / speed, begins, slow || span.seam === "return");
  const next = nextSpan(plan, span);
  if (next !== null) {
    const fadeOut = Math.min(fadeOf(next.seam, slow), span.lasts / 2);
    fall(envelope.gain, ends - fadeOut, ends, slow || next.seam === "return");
  }
  const source = new AudioBufferSourceNode(context, { buffer: fetched.buffer });
  source.connect(envelope);
  source.start(begins - lead_s / speed, (span.from_s - lead_s - fetched.begins_s) / speed, span.lasts + lead_s / speed);
  reel.spans.push(span);
  reel.voices.push({ source, begins: begins - lead_s / speed, ends });
  layBeats(span, begins, speed);
}

const fadeOf = (seam, slow) => (seam === "on" && slow ? SLOW_FADE_S : SHORT_FADE_S);

// Two sounds that are alike to the sample are faded linearly, others so that their power adds up.
const CURVE = Float32Array.from({ length: 33 }, (_, i) => Math.sin((Math.PI * i) / 64));

function rise(param, from, to, unlike) {
  if (to - from < 1e-4) return void param.setValueAtTime(1, to);
  if (unlike) return void param.setValueCurveAtTime(CURVE, from, to - from);
  param.setValueAtTime(0, from);
  param.linearRampToValueAtTime(1, to);
}

function fall(param, from, to, unlike) {
  if (unlike) return void param.setValueCurveAtTime(CURVE.toReversed(), from, to - from);
  param.setValueAtTime(1, from);
  param.linearRampToValueAtTime(0, to);
}

function layBeats(span, begins, speed) {
  const { clicks, theka, wanted } = reel;
  const { data, thekas, buffers } = wanted.beats;
  const from_s = span.seam === "start" ? span.from_s - STILL_S : span.from_s;
  const strike = (buffer, time_s, level, to) => {
    if (buffer === undefined) return;
    const when = begins + Math.max(time_s - span.from_s, 0) / speed;
    const source = new AudioBufferSourceNode(reel.context, { buffer });
    const gain = new GainNode(reel.context, { gain: level });
    source.connect(gain).connect(to);
    source.start(when);
    source.rings = true;
    reel.voices.push({ source, begins: when, ends: when + buffer.duration });
  };
  for (const { time_s, kind } of matrasBetween(data, from_s, span.to_s)) strike(clickBuffer(kind), time_s, 1, clicks);
  for (const { time_s, sound, level } of strokesBetween(data, thekas, from_s, span.to_s)) {
    strike(buffers[sound], time_s, level, theka);
  }
}
