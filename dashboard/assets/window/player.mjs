// The player: the page's sound, its button and its clock. Times in seconds from the start of the recording.
//
// Two ways of playing, chosen by what is wanted; nobody else need know which one sounds:
//   * plainly, at full speed: the page's audio element streams the listening copy;
//   * slowly, in a loop, or with clicks or theka under it: a reel (reel.mjs) lays short passages end to end, to the sample.
// Once a reel plays it goes on until the sound is stopped, so that what is switched off leaves no gap.
//
// For other modules: sound(), now(ago_s = 0) (what is heard at this moment, or was so long ago), isPlaying(), seek(time_s),
// toggle(), play(), pause(), and
//   playPassage(from_s, to_s, {speed = 100, loop = false}) -> promise
// which plays a stretch from its start to its end, to the sample, `speed` in percent, again and again with `loop`. The promise
// is fulfilled when it has ended or was stopped, with true when it was heard to its end. Nobody's settings are changed.
import { formatClock } from "../clock.mjs";
import { startOf } from "../reel.mjs";
import { byId, desk, isOpen, on, say, tell, write } from "./desk.mjs";
import { besideSound, makeReady, strokeBuffers } from "./fetched.mjs";
import { bind } from "./keyboard.mjs";
import { latency_s, ready, through } from "./mixer.mjs";
import { preferences, whenPreferred } from "./preferred.mjs";
import * as reel from "./reel.mjs";

const JUMP_S = 0.05; // by how much the element must have been moved for somebody to have sought
const SETTLE_MS = 150; // while somebody goes through the speeds, those between are not fetched

let passage = null; // of playPassage: {from_s, to_s, speed, loop, done}
let settling = null;
let starting = null; // the start that is under way
let beside = null; // a promise of what there is beside the sound

export const sound = () => byId("player");
export const isPlaying = () => starting !== null || reel.isRunning() || (sound() !== null && !sound().paused);

export function now(ago_s = 0) {
  const player = sound();
  if (player === null) return 0;
  return reel.place(ago_s) ?? (player.paused ? player.currentTime : Math.max(player.currentTime - latency_s() - ago_s, 0));
}

// Thekas, tihais and phrases of the recording (dashboard/listening.py), fetched once for every version of the page's data.
export const besideIt = () => beside;

export function seek(time_s) {
  const player = sound();
  if (!player) return;
  const place_s = Math.max(time_s, 0);
  endWanted(false);
  const { loop } = desk;
  if (loop?.on && (place_s < loop.from_s || place_s >= loop.to_s)) {
    desk.loop = { ...loop, on: false };
    tell("looped");
  }
  if (starting !== null || reel.isRunning()) startReel(() => place_s);
  else player.currentTime = place_s;
  tell("moved", place_s);
}

export function toggle() {
  if (isPlaying()) pause();
  else play();
}

export function pause() {
  const player = sound();
  if (!player) return;
  endWanted(false);
  halt();
}

function halt() {
  const player = sound();
  const at_s = now();
  starting = null;
  reel.stop();
  player?.pause();
  if (player && Math.abs(player.currentTime - at_s) > 1e-3) player.currentTime = at_s; // where it was heard to stop
  showState();
  tell("moved", at_s);
}

export async function play() {
  const player = sound();
  if (!player) return;
  const start_s = startOf(player.currentTime, bounds());
  if (wantsReel()) return startReel(() => start_s);
  try {
    const isMixed = await ready().then(() => true, () => false);
    if (isMixed) through(player).cancelScheduledValues(0).setValueAtTime(1, 0); // else it is heard as it is
    if (start_s !== player.currentTime) player.currentTime = start_s;
    await player.play();
  } catch (error) {
    if (error.name !== "AbortError") say("The sound could not be started. Press Play once more.");
  }
}

export function playPassage(from_s, to_s, { speed = 100, loop = false } = {}) {
  if (!sound()) return Promise.resolve(false);
  endWanted(false);
  return new Promise((done) => {
    passage = { from_s, to_s, speed, loop, done };
    startReel(() => from_s);
  });
}

function endWanted(heard) {
  const { done } = passage ?? {};
  passage = null;
  done?.(heard);
}

function wantsReel() {
  const { speed, click, theka } = preferences;
  return passage !== null || speed < 100 || desk.loop?.on === true || click || theka;
}

// The stretch that is played and nothing else, or null.
const bounds = () => passage ?? (desk.loop?.on ? desk.loop : (desk.data?.passage ?? null));

async function startReel(startIn) {
  const player = sound();
  const { slug } = player.dataset;
  const stretch = bounds();
  const looped = passage === null ? desk.loop?.on === true : passage.loop;
  const speed = passage?.speed ?? preferences.speed;
  const mine = Symbol("start");
  starting = mine;
  showState();
  try {
    const under = await beats(slug);
    if (starting !== mine) return; // stopped meanwhile, or started elsewhere
    const context_s = await reel.begin({
      slug,
      startIn,
      speed,
      loop: looped ? { from_s: stretch.from_s, to_s: stretch.to_s } : null,
      end_s: stretch !== null && !looped ? stretch.to_s : soundEnds(player),
      beats: under,
      ended: over,
      failed: (error) => {
        halt();
        say(`The sound stopped: ${error.message}`);
      },
    });
    if (context_s === null) return;
    handOver(player, context_s);
    requestAnimationFrame(run);
  } catch (error) {
    if (starting !== mine) return;
    const held = error.message === "held back";
    say(held ? "The browser holds the sound back. Press Play once more." : `The sound could not be started: ${error.message}`);
    starting = null;
    halt();
    endWanted(false);
  }
  if (starting === mine) starting = null;
  showState();
}

const soundEnds = ({ duration }) => Math.min(desk.data?.duration_s || Infinity, Number.isFinite(duration) ? duration : Infinity);

async function beats(slug) {
  const { theka } = await besideIt();
  if (!preferences.theka) return { data: desk.data, thekas: {}, buffers: {} };
  const sounds = new Set(Object.values(theka).flatMap((strokes) => strokes.map(([, name]) => name)));
  const { context } = await ready();
  return { data: desk.data, thekas: theka, buffers: await strokeBuffers(context, slug, [...sounds]) };
}

// The element falls silent when the reel begins to sound.
async function handOver(player, context_s) {
  if (player.paused) return;
  const { context } = await ready();
  const fader = through(player);
  fader.setValueAtTime(1, Math.max(context_s - 0.005, context.currentTime));
  fader.linearRampToValueAtTime(0, context_s);
  setTimeout(() => reel.isRunning() && player.pause(), 1000 * (context_s - context.currentTime) + 20);
}

function over(at_s) {
  const player = sound();
  if (player) player.currentTime = at_s;
  showState();
  tell("moved", at_s);
  endWanted(true);
}

// What is wanted has changed while it plays: go on at the same place as it is wanted now.
function changeOver() {
  const player = sound();
  if (!player || passage !== null || !isPlaying()) return;
  if (reel.isRunning()) startReel((seconds) => startOf(reel.isRunning() ? reel.placeIn(seconds) : player.currentTime, bounds()));
  else if (wantsReel() && !player.paused) startReel((seconds) => startOf(player.currentTime + seconds, bounds()));
}

// Asked at every frame and at every report of the element: frames stop in a window that is not looked at.
function endPassage() {
  const player = sound();
  const only = desk.data?.passage;
  if (!only || !player || player.paused || player.currentTime < only.to_s) return;
  player.pause();
  player.currentTime = only.to_s;
}

function run() {
  if (!isOpen()) return silence();
  if (!isPlaying()) return;
  endPassage();
  tell("moved", now());
  requestAnimationFrame(run);
}

// Another page has been turned to.
function silence() {
  starting = null;
  reel.stop();
  endWanted(false);
}

function showState() {
  const button = byId("play");
  if (!button) return;
  const playing = isPlaying();
  button.dataset.playing = String(playing);
  button.setAttribute("aria-label", playing ? "Pause" : "Play");
  button.setAttribute("aria-pressed", String(playing));
  tell("playing", playing);
}

on("opened", ({ again }) => {
  const player = sound();
  if (!again) {
    silence();
    desk.loop = null;
    tell("looped");
  }
  if (!player || !byId("play")) return;
  const { signal } = desk;
  beside = besideSound(desk.data.slug);
  byId("play").addEventListener("click", toggle, { signal });
  for (const kind of ["play", "pause", "ended"]) player.addEventListener(kind, showState, { signal });
  for (const kind of ["seeked", "loadedmetadata"]) {
    player.addEventListener(kind, () => reel.isRunning() || tell("moved", now()), { signal });
  }
  player.addEventListener("seeking", sought, { signal });
  player.addEventListener("timeupdate", endPassage, { signal });
  player.addEventListener("error", () => say("The sound cannot be played in this browser."), { signal });
  player.addEventListener("play", () => requestAnimationFrame(run), { signal });
  showState();
  showClock(now());
  if (again) changeOver(); // the grid may be another
});

// Somebody moved the element itself while a reel plays: go there.
function sought() {
  const player = sound();
  if (reel.isRunning() && player.paused && Math.abs(player.currentTime - (reel.place() ?? 0)) > JUMP_S) {
    const at_s = player.currentTime;
    startReel(() => at_s);
  }
}

on("moved", showClock);
on("looped", changeOver);
on("renewed", () => {
  beside = besideSound(desk.data.slug);
  changeOver(); // the grid may be another
});
whenPreferred((changed) => {
  if (changed.some((name) => preferences[name] === true && (name === "click" || name === "theka"))) changeOver();
  if (!changed.includes("speed")) return;
  clearTimeout(settling);
  settling = setTimeout(() => {
    if (isPlaying()) changeOver();
    else if (sound() && preferences.speed < 100) makeReady(sound().dataset.slug, startOf(now(), bounds()), preferences.speed);
  }, SETTLE_MS);
});

function showClock(time_s) {
  write("clock", `${formatClock(time_s)} / ${formatClock(desk.data.duration_s)}`);
}

bind("Listen", [{ key: "Space", words: "play or pause", act: toggle, when: () => sound() !== null }]);
