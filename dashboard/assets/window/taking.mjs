// Playing what is clapped along to, on the clock of the sound card, and telling when a tap came on that clock.
//
// A take on paper is laid out at once: theka, clicks and strokes to their times. A passage of a recording is a reel (reel.mjs).
// `begin` answers {toTake(stamp_ms), lasts_s, target_s(target)}: the time of a take, in s from its beginning, that was heard at a
// moment of the browser's clock, and when in it a target comes.
import { kindOf } from "../beats.mjs";
import { heardAt } from "../taps.mjs";
import { strokeBuffers } from "./fetched.mjs";
import { clickBuffer, latency_s, ready, set } from "./mixer.mjs";
import { preferences } from "./preferred.mjs";
import * as reel from "./reel.mjs";

const SOON_S = 0.25;
const REST_MATRAS = 2; // after the landing
const LEVELS = { theka: 0.5, clicks: 0.6 };
const UNDER = { theka: ["theka"], clicks: ["clicks"], both: ["theka", "clicks"], nothing: [] };
const CLICK_RATE = { sam: 1, tali: 0.8, khali: 0.8, matra: 0.6 };

let running = null; // {end()}
const sounds = new Map();

export const isRunning = () => running !== null;

export function end() {
  running?.end();
  running = null;
}

// The time on the context's clock that was heard at a moment of the browser's.
function heard(context, stamp_ms) {
  const { contextTime, performanceTime } = context.getOutputTimestamp?.() ?? {};
  return heardAt(stamp_ms, {
    contextTime, performanceTime, currentTime: context.currentTime, now_ms: performance.now(), latency_s: latency_s(),
  });
}

// Play a take with settings {laya, under, speed}; `ended` is called when it is over.
export function begin(take, settings, ended) {
  end();
  return take.kind === "played" ? beginPlayed(take, settings, ended) : beginOnPaper(take, settings, ended);
}

async function beginOnPaper({ score, talas, tala }, { laya, under, counted = true }, ended) {
  const { context } = await ready();
  const matra_s = 60 / laya;
  const lasts = score.landing + REST_MATRAS;
  const under_it = UNDER[under];
  const placed = score.events.filter(([x]) => x <= lasts).map(([x, sound, level, length]) => ({ x, sound, level, length }));
  for (let begins = 0; begins < lasts; begins += score.avartan) {
    if (under_it.includes("theka")) for (const [x, sound, level] of score.theka) placed.push({ x: begins + x, sound, level: level * LEVELS.theka });
    if (under_it.includes("clicks") || (counted && begins === 0 && !under_it.includes("theka"))) {
      for (let x = 0; x < score.avartan; x += 1) placed.push({ x: begins + x, click: kindOf(talas[tala], x + 1) });
    }
  }
  return lay(context, placed.filter(({ x }) => x < lasts), matra_s, lasts * matra_s, ended, ({ x }) => x * matra_s);
}

// Clicks at even distances, to clap along to.
export async function beginClicks(count, every_s, ended) {
  end();
  const { context } = await ready();
  const placed = Array.from({ length: count }, (_, x) => ({ x, click: x % 4 === 0 ? "sam" : "matra" }));
  return lay(context, placed, every_s, count * every_s, ended, ({ x }) => x * every_s);
}

async function lay(context, placed, matra_s, lasts_s, ended, target_s) {
  const names = [...new Set(placed.flatMap(({ sound }) => sound ?? []))];
  const buffers = new Map(await Promise.all(names.map(async (name) => [name, await strokeOf(context, name)])));
  const out = new GainNode(context);
  out.connect(context.destination);
  const start_s = context.currentTime + SOON_S;
  for (const { x, sound, click, level, length } of placed) {
    const buffer = click ? clickBuffer(click) : buffers.get(sound);
    if (!buffer) continue;
    const node = new AudioBufferSourceNode(context, { buffer });
    const gain = new GainNode(context, { gain: click ? CLICK_RATE[click] * LEVELS.clicks : level });
    node.connect(gain).connect(out);
    node.start(start_s + x * matra_s);
    if (sound?.startsWith("pluck")) {
      gain.gain.setTargetAtTime(0, start_s + (x + length) * matra_s, 0.03);
      node.stop(start_s + (x + length) * matra_s + 0.3);
    }
  }
  const timer = setInterval(() => context.currentTime - latency_s() > start_s + lasts_s && finish(), 50);
  const finish = () => {
    end();
    ended();
  };
  running = {
    end() {
      clearInterval(timer);
      out.gain.setTargetAtTime(0, context.currentTime, 0.01);
      setTimeout(() => out.disconnect(), 200);
    },
  };
  return { toTake: (stamp_ms) => heard(context, stamp_ms) - start_s, lasts_s, target_s };
}

async function beginPlayed(take, { under, speed }, ended) {
  const { context } = await ready();
  const under_it = UNDER[under];
  set({ ...preferences, click: under_it.includes("clicks"), theka: under_it.includes("theka") });
  const names = [...new Set(Object.values(take.beats.thekas).flatMap((strokes) => strokes.map(([, sound]) => sound)))];
  const buffers = await strokeBuffers(context, take.slug, under_it.includes("theka") ? names : []);
  const finish = () => {
    end();
    ended();
  };
  running = {
    end() {
      reel.stop();
      set(preferences);
    },
  };
  await new Promise((begun, failed) => {
    reel
      .begin({
        slug: take.slug, startIn: () => take.from_s, speed, loop: null, end_s: take.to_s,
        beats: { ...take.beats, buffers }, ended: finish, failed: (error) => (end(), failed(error)),
      })
      .then(begun, failed);
  });
  const rate = speed / 100; // seconds are those of who claps, also when it is played slowly
  return {
    toTake: (stamp_ms) => ((reel.place((performance.now() - stamp_ms) / 1000) ?? NaN) - take.from_s) / rate,
    lasts_s: (take.to_s - take.from_s) / rate,
    target_s: ({ s }) => (s - take.from_s) / rate,
  };
}

function strokeOf(context, name) {
  if (!sounds.has(name)) {
    const got = fetch(`/compose/sound/${name}.flac?sa=4`).then(async (answer) => {
      if (!answer.ok) return null; // a stroke that could not be had is left out
      return context.decodeAudioData(await answer.arrayBuffer());
    });
    got.catch(() => sounds.delete(name));
    sounds.set(name, got);
  }
  return sounds.get(name);
}
