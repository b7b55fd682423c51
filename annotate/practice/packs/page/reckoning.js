/* What a pack's player reckons, without touching the page: kept apart so that node can test it.
   A classic script, since browsers load no modules from a disk; it makes one object, `reckoning`.
   Times are seconds in a sound, places are matras from the beginning of the piece. */
"use strict";

globalThis.reckoning = (() => {
  /** Seconds of sound before a loop's beginning that still belong to its first stroke. */
  const BEFORE_S = 0.01;
  /** Seconds over which the end of a loop flows into its beginning. */
  const FLOW_S = 0.006;

  /** The bytes of a base64 text. */
  function bytesOf(text) {
    const raw = atob(text);
    const bytes = new Uint8Array(raw.length);
    for (let at = 0; at < raw.length; at += 1) bytes[at] = raw.charCodeAt(at);
    return bytes;
  }

  /** How much later everything is in a decoded sound: some decoders keep the silence that an encoder puts before it.
      `delay_s` is that silence, `duration_s` the length without it. */
  function lateness(decoded_s, duration_s, delay_s) {
    return decoded_s - duration_s > delay_s * 0.75 ? delay_s : 0;
  }

  /** The samples between which a part goes round: whole numbers, its length to the nearest sample. */
  function loopOf(begin_s, end_s, rate, count) {
    const length = Math.max(1, Math.round((end_s - begin_s) * rate));
    const begin = Math.max(0, Math.min(Math.round((begin_s - BEFORE_S) * rate), count - length));
    return { begin, end: Math.min(begin + length, count) };
  }

  /** Let the end of a loop flow into its beginning, in place: no click where it goes round, and not a sample longer. */
  function flow(samples, { begin, end }, rate) {
    const length = Math.min(Math.round(FLOW_S * rate), begin, end - begin);
    for (let at = 0; at < length; at += 1) {
      const share = (at + 1) / (length + 1);
      const from = end - length + at;
      samples[from] = samples[from] * (1 - share) + samples[begin - length + at] * share;
    }
  }

  /** Where a sound is that began at `from_s`, `gone_s` ago; `loop` holds begin_s and end_s, or is null. */
  function positionOf(from_s, gone_s, loop) {
    const at = from_s + Math.max(0, gone_s);
    if (loop === null || at < loop.end_s) return at;
    const length = loop.end_s - loop.begin_s;
    return loop.begin_s + ((at - loop.begin_s) % length);
  }

  /** Between known pairs, in a straight line; outside them as between the nearest two. */
  function between(pairs, value, from, to) {
    if (pairs.length < 2) return null;
    let at = pairs.findIndex((pair) => pair[from] > value);
    if (at < 1) at = at === 0 ? 1 : pairs.length - 1;
    const [before, after] = [pairs[at - 1], pairs[at]];
    const share = (value - before[from]) / (after[from] - before[from]);
    return before[to] + share * (after[to] - before[to]);
  }

  /** The place at a time; `places` are pairs [place, time]. */
  const placeAt = (places, time_s) => between(places, time_s, 1, 0);
  /** The time at a place. */
  const timeAt = (places, place) => between(places, place, 0, 1);

  /** The same place in another sound; by shares of the whole where places are not known. */
  function carried(time_s, sound, other) {
    const place = placeAt(sound.places, time_s);
    const carried_s =
      place === null || other.places.length < 2
        ? (time_s / sound.duration_s) * other.duration_s
        : timeAt(other.places, place);
    return Math.max(0, Math.min(carried_s, other.duration_s));
  }

  /** Which of the cells is lit: `starts` are the places where they begin, in order; each lasts a matra at most. */
  function cellAt(starts, place) {
    if (place === null) return -1;
    let found = -1;
    for (let at = 0; at < starts.length && starts[at] <= place + 1e-6; at += 1) found = at;
    return found >= 0 && place < starts[found] + 1 ? found : -1;
  }

  /** 83.24 as 1:23.2 */
  function clock(seconds) {
    const tenths = Math.round(Math.max(0, seconds) * 10);
    const rest = tenths % 600;
    return `${Math.floor(tenths / 600)}:${String(Math.floor(rest / 10)).padStart(2, "0")}.${rest % 10}`;
  }

  const KEYS = new Map([
    [" ", { does: "play" }],
    ["arrowleft", { does: "move", by_s: -2 }],
    ["arrowright", { does: "move", by_s: 2 }],
    ["p", { does: "piece", by: -1 }],
    ["n", { does: "piece", by: 1 }],
    ["w", { does: "part", part: "whole" }],
    ["1", { does: "part", part: "palla 1" }],
    ["2", { does: "part", part: "palla 2" }],
    ["3", { does: "part", part: "palla 3" }],
    ["d", { does: "part", part: "dam" }],
    ["l", { does: "part", part: "landing" }],
    ["r", { does: "again" }],
    ["s", { does: "sound", by: -1 }],
    ["f", { does: "sound", by: 1 }],
    ["b", { does: "beginning" }],
  ]);

  /** What a key means, or null: with another key held, in a field, or on what has a use of its own for it, nothing. */
  function meaningOf({ key, ctrlKey, metaKey, altKey, on }) {
    if (ctrlKey || metaKey || altKey || on === "field") return null;
    if (on === "control" && (key === " " || key === "Enter")) return null;
    if (on === "seek" && key.startsWith("Arrow")) return null;
    return KEYS.get(key.toLowerCase()) ?? null;
  }

  /** The part that a word means: one that is called so, or that begins so ("landing avartan", "dam 1"). */
  function partOf(parts, word) {
    const exact = parts.findIndex((part) => part.words.toLowerCase() === word);
    return exact >= 0 ? exact : parts.findIndex((part) => part.words.toLowerCase().startsWith(word));
  }

  return {
    bytesOf, lateness, loopOf, flow, positionOf, placeAt, timeAt, carried, cellAt, clock, meaningOf, partOf,
  };
})();
