// Setting a loop and moving its ends, by keys and by the transport's buttons. The loop itself is `desk.loop`.
import { avartanAt, endInWords, longer, nearestMatra, nearestPassage, nudged, tihaiLoop, withEnd } from "../loops.mjs";
import { formatClock } from "../clock.mjs";
import { desk, say, tell } from "./desk.mjs";
import { bind } from "./keyboard.mjs";
import { besideIt, now, sound } from "./player.mjs";

const heard = () => sound() !== null;
const isLoop = () => heard() && desk.loop !== null;
let longest = null; // the avartans looped last, to be made longer when asked for again
let selected = null; // the selection there was when the loop was set

function set(loop, on = true) {
  longest = null;
  selected = desk.selection;
  desk.loop = { ...loop, on };
  tell("looped");
  if (on) say(`Loop: ${inWords(desk.loop)}`);
}

// A loop in words: what it is, or where it begins and ends.
export function inWords(loop) {
  if (loop.words) return loop.words;
  const [from, to] = [loop.from_s, loop.to_s].map((time_s) => endInWords(desk.data, time_s) ?? formatClock(time_s, 2));
  return `${from} to ${to}`;
}

// On or off. What was selected since is looped instead; where there is neither, the page's passage or the avartan that sounds.
export function toggleLoop() {
  const { loop, selection, data } = desk;
  if (selection !== null && selection !== selected) loopSelection();
  else if (loop === null && data.passage !== null) set({ ...data.passage, words: "the passage" });
  else if (loop === null) loopAvartan();
  else {
    desk.loop = { ...loop, on: !loop.on };
    tell("looped");
    say(desk.loop.on ? `Loop: ${inWords(desk.loop)}` : "The loop is off.");
  }
}

export function loopSelection() {
  const { selection } = desk;
  if (selection === null) return say("Nothing is selected.");
  set({ words: "", from_s: selection.from_s, to_s: selection.to_s });
}

// The avartan that sounds; asked for again, one more.
export function loopAvartan() {
  const { loop, data } = desk;
  const again = loop !== null && loop.on && longest !== null && loop.from_s === longest.from_s && loop.to_s === longest.to_s;
  const found = again ? longer(data, loop) : avartanAt(data, now());
  if (found === null) return say("There is no avartan here.");
  set(found);
  longest = found;
}

export async function loopTihai() {
  const found = nearestPassage((await besideIt()).tihais, now());
  if (found === null) return say("No tihai is written down here yet.");
  set(tihaiLoop(desk.data, found));
}

export async function loopPhrase() {
  const found = nearestPassage((await besideIt()).phrases, now());
  if (found === null) return say("No phrase is written down here yet.");
  set(found);
}

export function endHere(end) {
  set(withEnd(desk.data, desk.loop, end, nearestMatra(desk.data, now())));
}

export function moveEnd(end, steps) {
  if (desk.loop !== null) set(nudged(desk.data, desk.loop, end, steps), desk.loop.on);
}

bind("Loop", [
  { key: "o", words: "loop what is selected, or this avartan; on or off", act: toggleLoop, when: heard },
  { key: "h", words: "loop the tihai here, to where it lands", act: loopTihai, when: heard },
  { key: "r", words: "loop the phrase here", act: loopPhrase, when: heard },
  { key: "[", words: "the loop begins here, on the nearest matra", act: () => endHere("from_s"), when: heard },
  { key: "]", words: "the loop ends here", act: () => endHere("to_s"), when: heard },
  { key: ",", words: "begin the loop a matra earlier", act: () => moveEnd("from_s", -1), when: isLoop },
  { key: ".", words: "begin it a matra later", act: () => moveEnd("from_s", 1), when: isLoop },
  { key: "<", words: "end the loop a matra earlier", act: () => moveEnd("to_s", -1), when: isLoop },
  { key: ">", words: "end it a matra later", act: () => moveEnd("to_s", 1), when: isLoop },
]);
