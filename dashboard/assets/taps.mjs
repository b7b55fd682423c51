// Taps held against what they belong to: how early or late each came, and the landing.
//
// Conventions: times in s on one clock, ascending; deviations in ms, late positive. A tap belongs to one stroke at most and the
// other way round, in order; what is left over is a stroke that was missed, or a tap too many.

const MISSING_S = 0.15; // a stroke without a tap and a tap without a stroke cost this much each, so a pair is nearer than twice it
const UNTOLD_S = 1; // a reading of the clocks that is older than this says nothing

// When a tap came on the clock of the sound, as it was heard: from the time of its event and a reading of both clocks
// {contextTime, performanceTime} (s and ms), or, where a browser does not give one, from {currentTime, now_ms, latency_s}.
export function heardAt(stamp_ms, { contextTime = 0, performanceTime = 0, currentTime, now_ms, latency_s }) {
  const isRead = contextTime > 0 && Math.abs(now_ms - performanceTime) < UNTOLD_S * 1000;
  if (isRead) return contextTime + (stamp_ms - performanceTime) / 1000;
  return currentTime - latency_s - (now_ms - stamp_ms) / 1000;
}

// The targets that are clapped: every stroke, where pallas begin and the landing, or the landing alone.
export function wantedOf(targets, taps) {
  if (taps === "landing") return targets.filter(({ landing }) => landing);
  return taps === "pallas" ? targets.filter(({ landing, opens }) => landing || opens) : targets;
}

// For every target the index of the tap that belongs to it, or null: the pairs whose deviations and leftovers cost least.
export function matched(target_s, tap_s) {
  const width = tap_s.length + 1;
  const cost = new Float64Array((target_s.length + 1) * width);
  for (let j = 1; j < width; j += 1) cost[j] = j * MISSING_S;
  for (let i = 1; i <= target_s.length; i += 1) {
    cost[i * width] = i * MISSING_S;
    for (let j = 1; j < width; j += 1) {
      const pair = cost[(i - 1) * width + j - 1] + Math.abs(target_s[i - 1] - tap_s[j - 1]);
      cost[i * width + j] = Math.min(pair, cost[(i - 1) * width + j] + MISSING_S, cost[i * width + j - 1] + MISSING_S);
    }
  }
  const found = target_s.map(() => null);
  let [i, j] = [target_s.length, tap_s.length];
  while (i > 0 && j > 0) {
    const here = cost[i * width + j];
    if (here === cost[(i - 1) * width + j - 1] + Math.abs(target_s[i - 1] - tap_s[j - 1])) [i, j] = [i - 1, j - 1], (found[i] = j);
    else if (here === cost[(i - 1) * width + j] + MISSING_S) i -= 1;
    else j -= 1;
  }
  return found;
}

export function medianOf(values) {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

export const LEAST_TAPS = 6;

// The delay of sound and keys, from taps along to clicks: {offset_ms, spread_ms, count} with the median and the median
// distance from it; null where fewer than LEAST_TAPS belong to a click.
export function delayOf(click_s, tap_s) {
  const devs = matched(click_s, tap_s).flatMap((tap, i) => (tap === null ? [] : [(tap_s[tap] - click_s[i]) * 1000]));
  if (devs.length < LEAST_TAPS) return null;
  const offset_ms = medianOf(devs);
  return { offset_ms, spread_ms: medianOf(devs.map((dev) => Math.abs(dev - offset_ms))), count: devs.length };
}

// What became of a take: {rows: [{words, short, landing, dev_ms or null}], landing_ms, median_ms, spread_ms, hit, missed, extra}.
export function outcomeOf(targets, tap_s) {
  const found = matched(targets.map(({ time_s }) => time_s), tap_s);
  const rows = targets.map(({ time_s, words, short, landing }, i) => ({
    words, short, landing, dev_ms: found[i] === null ? null : (tap_s[found[i]] - time_s) * 1000,
  }));
  const devs = rows.map(({ dev_ms }) => dev_ms).filter((dev) => dev !== null);
  const median_ms = medianOf(devs);
  return {
    rows,
    landing_ms: rows.find(({ landing }) => landing)?.dev_ms ?? null,
    median_ms,
    spread_ms: median_ms === null ? null : medianOf(devs.map((dev) => Math.abs(dev - median_ms))),
    hit: devs.length,
    missed: rows.length - devs.length,
    extra: tap_s.length - devs.length,
  };
}

// 12.4 -> "12 ms late"; nearer than half a millisecond is "on the spot".
export function said(dev_ms) {
  const rounded = Math.round(dev_ms);
  if (rounded === 0) return "on the spot";
  return `${Math.abs(rounded)} ms ${rounded > 0 ? "late" : "early"}`;
}

// The landing and the rest in sentences, the landing first.
export function outcomeWords({ rows, landing_ms, median_ms, spread_ms, hit, missed, extra }) {
  const lines = [landing_ms === null ? "No clap came near the landing." : `Your landing came ${said(landing_ms)}.`];
  if (rows.length > 1 && median_ms !== null) {
    lines.push(`${hit} of ${rows.length} strokes were clapped, by the median ${said(median_ms)}, half of them within ${Math.round(spread_ms)} ms of that.`);
  }
  if (missed > 0 && rows.length > 1) lines.push(`${missed} ${missed === 1 ? "stroke has" : "strokes have"} no clap.`);
  if (extra > 0) lines.push(`${extra} ${extra === 1 ? "clap belongs" : "claps belong"} to no stroke.`);
  return lines;
}

const LETTER = 7.2; // px, as in deviations.mjs

// What is drawn of it (deviations.mjs) in so many px: a sign for each stroke, milliseconds up late and down early. Where strokes
// stand too near for their names, their numbers stand below.
export function drawingOf({ rows }, band_ms, width) {
  const longest = Math.max(...rows.filter(({ landing }) => !landing).map(({ short }) => short.length), 1);
  const isTight = (longest + 1) * LETTER > (width - 90) / rows.length;
  return {
    x_title: isTight ? "number of the stroke" : "stroke, in order",
    y_title: "early (−) or late (+), ms",
    names: rows.map(({ short, landing }, i) => (landing ? "landing" : isTight ? String(i + 1) : short)),
    band_ms,
    stems: false,
    series: [{ name: "", values: rows.map(({ dev_ms }) => dev_ms), places: [], landing: true }],
  };
}
