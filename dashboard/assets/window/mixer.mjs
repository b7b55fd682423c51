// The mixer: what sounds goes through it, on its way to the ears. One for the window, made with the first sound.
//
//   recording ─ its level ─ ear (which channels) ─┐
//   clicks ──── their level ──────────────────────┼─ out
//   theka ───── its level ────────────────────────┘
//
// A browser lets nothing sound before somebody has pressed something: `ready()` is called from there.
import { clickSamples } from "../clicks.mjs";
import { earOf } from "../ears.mjs";
import { gainOf } from "../preferences.mjs";

const SMOOTH_S = 0.01; // levels change so gradually that nothing clicks
const WAIT_MS = 2000;

let mixer = null;
let wanted = null; // the preferences, before the mixer is there

// The mixer, running: {context, recording, clicks, theka}; rejects where the browser holds sound back.
export async function ready() {
  mixer ??= make();
  const { context } = mixer;
  if (context.state !== "running") {
    const held = new Promise((_, refuse) => setTimeout(() => refuse(new Error("held back")), WAIT_MS));
    await Promise.race([context.resume(), held]);
  }
  return mixer;
}

// The mixer if there is one yet.
export const present = () => mixer;

function make() {
  const context = new AudioContext({ latencyHint: "interactive" });
  const gain = (to) => {
    const node = new GainNode(context);
    node.connect(to);
    return node;
  };
  const both = new ChannelMergerNode(context, { numberOfInputs: 2 });
  both.connect(context.destination);
  const channels = new ChannelSplitterNode(context, { numberOfOutputs: 2 });
  // left to left, right to left, left to right, right to right
  const ear = [0, 1, 2, 3].map((i) => {
    const node = new GainNode(context);
    channels.connect(node, i % 2);
    node.connect(both, 0, Math.floor(i / 2));
    return node;
  });
  const recording = gain(channels);
  Object.assign(recording, { channelCount: 2, channelCountMode: "explicit" }); // one channel is heard on both sides
  mixer = { context, ear, recording, clicks: gain(context.destination), theka: gain(context.destination), sources: new WeakMap() };
  if (wanted !== null) set(wanted);
  return mixer;
}

// Hear as preferred (preferences.mjs).
export function set(preferences) {
  wanted = preferences;
  if (mixer === null) return;
  const { context, ear, recording, clicks, theka } = mixer;
  const turn = (node, value) => node.gain.setTargetAtTime(value, context.currentTime, SMOOTH_S);
  earOf(preferences.ear).matrix.forEach((value, i) => turn(ear[i], value));
  turn(recording, gainOf(preferences.soundLevel));
  turn(clicks, preferences.click ? gainOf(preferences.clickLevel) : 0);
  turn(theka, preferences.theka ? gainOf(preferences.thekaLevel) : 0);
}

// Let an audio element sound through the mixer; returns its fader, an AudioParam.
export function through(element) {
  const { context, recording, sources } = mixer;
  if (!sources.has(element)) {
    const fader = new GainNode(context);
    new MediaElementAudioSourceNode(context, { mediaElement: element }).connect(fader).connect(recording);
    sources.set(element, fader.gain);
  }
  return sources.get(element);
}

// By how much what is heard lags behind the context's clock, s: the way through the system and the headphones.
export function latency_s() {
  if (mixer === null) return 0;
  const { context } = mixer;
  const { contextTime, performanceTime } = context.getOutputTimestamp?.() ?? {};
  if (contextTime > 0) {
    const lag = context.currentTime - contextTime - (performance.now() - performanceTime) / 1000;
    if (lag >= 0 && lag < 1) return lag;
  }
  return (context.baseLatency ?? 0) + (context.outputLatency ?? 0);
}

const clickBuffers = new Map();

export function clickBuffer(kind) {
  const { context } = mixer;
  if (!clickBuffers.has(kind)) {
    const samples = clickSamples(kind, context.sampleRate);
    const buffer = new AudioBuffer({ length: samples.length, sampleRate: context.sampleRate });
    buffer.copyToChannel(samples, 0);
    clickBuffers.set(kind, buffer);
  }
  return clickBuffers.get(kind);
}
