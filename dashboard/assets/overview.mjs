// The whole concert in a strip: sections, loudness, where tihais land; as SVG text.
//
// Conventions: px across the strip are proportional to time; seconds from the start of the recording.
import { SIGNS, escape, round } from "./rows.mjs";

export const HEIGHT = 64;
const NAMES = 15; // height of the sections' names, above
const SIGN_ROOM = 18; // and of the landings' signs, below
const LETTER = 6.4;
const SIGN_PX = 13; // width of a sign

export const pxOfTime = (time_s, duration_s, width) => (duration_s > 0 ? (time_s / duration_s) * width : 0);
export function timeOfPx(px, duration_s, width) {
  return Math.min(Math.max((px / width) * duration_s, 0), duration_s);
}

export function overviewSvg({ stretches, loudness, tihais, duration_s }, width) {
  const x = (time_s) => round(pxOfTime(time_s, duration_s, width));
  const middle = (NAMES + HEIGHT - SIGN_ROOM) / 2;
  const tallest = (HEIGHT - SIGN_ROOM - NAMES) / 2;
  const bands = stretches.map((stretch, i) => {
    const [left, right] = [x(stretch.start_s), x(stretch.end_s)];
    const name = stretch.title.length * LETTER < right - left - 4 ? escape(stretch.title) : "";
    return `<g><title>${escape(stretch.title)}</title><rect class="band${stretch.tala === null ? " free" : ""}" x="${left}" y="0"` +
      ` width="${round(right - left)}" height="${HEIGHT}"/>${i > 0 ? `<line class="band-edge" x1="${left}" x2="${left}" y1="0" y2="${HEIGHT}"/>` : ""}` +
      `<text class="band-name" x="${left + 4}" y="11">${name}</text></g>`;
  });
  const step = width / Math.max(loudness.length, 1);
  const wave = loudness.map((share, i) => {
    const high = (share / 99) * tallest;
    return `M${round((i + 0.5) * step)} ${round(middle - high)}v${round(2 * high)}`;
  });
  const landings = isCrowded(tihais.map(({ landing_s }) => x(landing_s))) ? landingTicks(tihais, x) : landingSigns(tihais, x);
  return `<svg width="${width}" height="${HEIGHT}" aria-hidden="true">${bands.join("")}` +
    `<path class="loudness" stroke-width="${round(Math.max(step * 0.8, 0.6))}" d="${wave.join("")}"/>${landings.join("")}</svg>`;
}

// Whether so many signs would stand in each other that they could not be read.
function isCrowded(places) {
  const close = places.slice(1).filter((at, i) => at - places[i] < SIGN_PX).length;
  return close > places.length / 3;
}

const landingSigns = (tihais, x) => tihais.map(({ landing_s, verdict, title }) => {
  const [at, y] = [x(landing_s), HEIGHT - 8];
  return `<g class="landing ${verdict}"><title>${escape(title)}</title>` +
    `<line class="landing-stem" x1="${at}" x2="${at}" y1="${NAMES}" y2="${HEIGHT - 15}"/>` +
    `<circle class="landing-ring" cx="${at}" cy="${y}" r="6"/>${SIGNS[verdict]?.(at, y) ?? ""}</g>`;
});

// Ticks instead of signs: a short one where a tihai lands, a tall one where it does not.
const landingTicks = (tihais, x) => tihais.map(({ landing_s, verdict, title }) =>
  `<g class="landing ${verdict}"><title>${escape(title)}</title>` +
  `<rect class="landing-tick" x="${x(landing_s) - 1}" y="${HEIGHT - (verdict === "lands" ? 8 : 16)}" width="2" height="${verdict === "lands" ? 6 : 14}"/></g>`);

