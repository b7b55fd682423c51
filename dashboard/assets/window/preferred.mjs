// How somebody likes to listen (../preferences.mjs), kept in this browser.
import { readPreferences } from "../preferences.mjs";
import { set } from "./mixer.mjs";

const PLACE = "layakosh-listening";

const listeners = [];

export const preferences = readPreferences(read());
set(preferences);

// Called with the names of what has changed.
export const whenPreferred = (answer) => void listeners.push(answer);

export function prefer(changes) {
  const changed = Object.keys(changes).filter((name) => preferences[name] !== changes[name]);
  if (changed.length === 0) return;
  Object.assign(preferences, changes);
  set(preferences);
  try {
    localStorage.setItem(PLACE, JSON.stringify(preferences));
  } catch {
    // a browser that keeps nothing: it holds for this window
  }
  listeners.forEach((answer) => answer(changed));
}

function read() {
  try {
    return localStorage.getItem(PLACE);
  } catch {
    return null;
  }
}
