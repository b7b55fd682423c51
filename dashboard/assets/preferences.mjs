// How somebody likes to listen, as it is kept in the browser: speed in percent, what is heard, how loud.
import { earOf } from "./ears.mjs";

export const SLOWEST = 25;
const STEP = 5;

export const PREFERRED = {
  speed: 100, ear: "both", click: false, theka: false, soundLevel: 1, clickLevel: 0.5, thekaLevel: 0.6,
};

// What was kept -> preferences; whatever is missing or makes no sense is as preferred by default.
export function readPreferences(text) {
  let kept;
  try {
    kept = JSON.parse(text) ?? {};
  } catch {
    kept = {};
  }
  const level = (name) => (Number.isFinite(kept[name]) ? Math.min(Math.max(kept[name], 0), 1) : PREFERRED[name]);
  return {
    speed: Number.isFinite(kept.speed) ? speedNear(kept.speed) : PREFERRED.speed,
    ear: earOf(kept.ear).key,
    click: kept.click === true,
    theka: kept.theka === true,
    soundLevel: level("soundLevel"),
    clickLevel: level("clickLevel"),
    thekaLevel: level("thekaLevel"),
  };
}

export const speedNear = (speed) => Math.min(Math.max(Math.round(speed / STEP) * STEP, SLOWEST), 100);
export const slower = (speed) => speedNear(speed - STEP);
export const faster = (speed) => speedNear(speed + STEP);

// A fader's place (0 to 1) -> gain; the ear hears a square as even steps.
export const gainOf = (level) => level * level;
