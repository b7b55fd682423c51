// The page for clapping along: a tihai is played, taps are taken by the time of the press, and held against its strokes.
//
// The delay of sound and keys is measured once, by clapping along to clicks, and kept in this browser: it belongs to the machine,
// not to whoever claps. Of the claps nothing is kept.
import { changed } from "../asking.mjs";
import { deviationsSvg } from "../deviations.mjs";
import { LEAST_TAPS, delayOf, drawingOf, outcomeOf, outcomeWords, said, wantedOf } from "../taps.mjs";
import { begin, beginClicks, end, isRunning } from "./taking.mjs";

const KEPT = "layakosh-clap-delay";
const CLICKS = 16;
const CLICK_S = 0.5;
const NOT_COUNTED = 4; // clicks to get into it
const LATEST_MS = 1000;
const BAND_MS = 100; // what counts as landing: within this or a third of a matra, whichever is smaller (annotate/verify.py)
const NARROW = 640; // px

const byId = (id) => document.getElementById(id);
const isHere = () => byId("practice") !== null && location.pathname === "/practice/clap";
const page = () => byId("practice");

let take = null; // {told, placed, settings} while it sounds, or {clicks} while the delay is measured
let taps = [];
let asked = 0;

const PARTS = [
  '<details class="options" id="options" open><summary>What to practise</summary><div id="clap-form"></div></details>',
  '<p id="clap-said" role="status"></p>',
  '<section class="clap-desk" aria-label="Clap along">',
  '<div class="clap-what"><p id="clap-name"></p><p id="clap-sum" class="taught-sum"></p></div>',
  '<div class="clap-buttons"><button type="button" id="clap-begin" class="main">Play, and clap</button></div>',
  '<button type="button" id="clap-pad" class="pad"><b id="clap-place">Clap here</b><span id="clap-count">or with the space bar; Esc stops</span></button>',
  '<div id="clap-outcome" role="region" aria-live="polite" aria-label="How close it came"></div>',
  "</section>",
  '<section class="clap-delay" aria-labelledby="delay-heading"><h2 id="delay-heading">The delay of sound and keys</h2>',
  "<p>Loudspeakers, headphones and keys are late by some milliseconds. Measure it once: clap along to even clicks, and what you are ",
  "off by the median is taken off every clap afterwards. It is kept in this browser, for this machine; of your claps nothing is kept.</p>",
  '<div class="answer-line"><label for="delay">Taken off, ms</label><input id="delay" inputmode="numeric" autocomplete="off" ',
  'aria-describedby="delay-told"><button type="button" id="delay-measure">Measure it</button></div><p id="delay-told" class="hint" role="status"></p></section>',
].join("");

// Called by Dash (start.js) when the page is put in.
export async function show() {
  if (!isHere()) return "";
  if (page().childElementCount === 0) {
    page().innerHTML = PARTS;
    if (innerWidth < NARROW) byId("options").open = false; // what there is to do comes first
    byId("delay").value = String(Math.round(delay_ms()));
  }
  await answer(location.search);
  return location.search;
}

async function answer(search, push = null) {
  const number = ++asked;
  const choices = search.replace(/^\?/, "");
  const told = await fetched(`/practice/clap/asked?${choices}`);
  if (number !== asked || !isHere()) return;
  if (told.error) return void say(told.error);
  say("");
  if (push !== null) history[push ? "pushState" : "replaceState"]({}, "", told.address);
  put(byId("clap-form"), told.form);
  tellWrong(told.wrong);
  if (Object.keys(told.wrong).length === 0) await prepare(choices);
}

// Say what will be played; a tihai of the archive may have to be chosen first.
async function prepare(choices) {
  const number = asked;
  const isChosen = byId("ask-piece")?.value !== "";
  const told = isChosen ? await fetched(`/practice/clap/take?${choices}`) : { error: "Choose a tihai of the archive." };
  if (number !== asked || !isHere()) return;
  byId("clap-begin").disabled = Boolean(told.error);
  write("clap-name", told.error ?? told.name);
  write("clap-sum", told.error ? "" : told.sum);
  byId("clap-outcome").replaceChildren();
}

async function fetched(address) {
  try {
    return await (await fetch(address, { cache: "no-store" })).json();
  } catch {
    return { error: "The server does not answer. Is it still running?" };
  }
}

function put(element, markup) {
  const at = element.contains(document.activeElement) ? document.activeElement.id : "";
  element.innerHTML = markup;
  if (at !== "") byId(at)?.focus({ preventScroll: true });
}

function tellWrong(wrong) {
  if (Object.keys(wrong).length > 0) byId("options").open = true;
  for (const place of page().querySelectorAll(".wrong[id]")) {
    const message = wrong[place.id.replace("wrong-", "")] ?? "";
    place.textContent = message;
    place.hidden = message === "";
  }
  for (const field of page().querySelectorAll("#ask [name]")) field.setAttribute("aria-invalid", String(field.name in wrong));
}

const write = (id, words) => byId(id) && byId(id).textContent !== words && (byId(id).textContent = words);
const say = (words) => write("clap-said", words);
const fieldOf = (name) => byId(`ask-${name}`)?.value;

// -- the take -----------------------------------------------------------------------------------------------------------

async function play() {
  if (isRunning()) return stop();
  const told = await fetched(`/practice/clap/take?${location.search.replace(/^\?/, "")}`);
  if (told.error) return void say(told.error);
  const settings = { laya: Number(fieldOf("laya") ?? 80), under: fieldOf("under"), speed: Number(fieldOf("speed") ?? 100), taps: fieldOf("taps") };
  await sounding({ told, settings }, () => begin(told, settings, over));
}

async function measure() {
  if (isRunning()) return stop();
  await sounding({ clicks: true }, () => beginClicks(CLICKS, CLICK_S, over));
}

async function sounding(wanted, start) {
  taps = [];
  say("");
  byId("clap-outcome").replaceChildren();
  try {
    const placed = await start();
    if (!isHere()) return end();
    take = { ...wanted, placed };
    mark();
    requestAnimationFrame(follow);
  } catch (error) {
    end();
    take = null;
    const heldBack = "The browser holds the sound back: press the button once more.";
    say(error.message === "held back" ? heldBack : `It cannot be heard: ${error.message}`);
  }
}

function stop() {
  end();
  take = null;
  mark();
  say("Stopped.");
}

function over() {
  const done = take;
  take = null;
  if (!isHere() || done === null) return;
  mark();
  if (done.clicks) tellDelay();
  else tellOutcome(done);
}

function tellOutcome({ told, placed, settings }) {
  const targets = wantedOf(told.targets, settings.taps).map((target) => ({ ...target, time_s: placed.target_s(target) }));
  const late_s = delay_ms() / 1000;
  const outcome = outcomeOf(targets, taps.map((tap_s) => tap_s - late_s));
  const lines = outcomeWords(outcome);
  if (told.own_ms !== undefined && told.own_ms !== null) lines.push(`In the performance the landing came ${said(told.own_ms)} against the matras as they are written down.`);
  const region = byId("clap-outcome");
  region.innerHTML = `<h2>How close it came</h2><p class="sentence"></p><ul class="outcome"></ul><div class="figure"><div class="drawing" id="clap-drawing"></div></div><p class="hint">Green: what counts as landing, within 100 ms or a third of a matra, whichever is smaller.</p>`;
  region.querySelector(".sentence").textContent = lines[0];
  region.querySelector("ul").replaceChildren(...lines.slice(1).map((line) => Object.assign(document.createElement("li"), { textContent: line })));
  region.append(table(outcome.rows));
  const drawing = byId("clap-drawing");
  const band_ms = Math.min(BAND_MS, told.tolerance_ms ?? 20000 / settings.laya);
  drawing.innerHTML = deviationsSvg(drawingOf(outcome, band_ms, drawing.clientWidth), drawing.clientWidth);
  Object.assign(region.dataset, { outcome: JSON.stringify(outcome), band: String(band_ms) });
}

// The same in a table, for those who do not see the drawing.
function table(rows) {
  const details = document.createElement("details");
  details.innerHTML = "<summary>Stroke by stroke</summary><div class='table-region'><table><thead><tr><th scope='col'>Stroke</th><th scope='col' class='number'>Your clap</th></tr></thead><tbody></tbody></table></div>";
  for (const { words, landing, dev_ms } of rows) {
    const row = details.querySelector("tbody").insertRow();
    row.append(Object.assign(document.createElement("th"), { scope: "row", textContent: landing ? `${words}: the landing` : words }));
    row.append(Object.assign(document.createElement("td"), { className: "number", textContent: dev_ms === null ? "none" : said(dev_ms) }));
  }
  return details;
}

// -- the delay ----------------------------------------------------------------------------------------------------------

function delay_ms() {
  try {
    const kept = Number(localStorage.getItem(KEPT));
    return Number.isFinite(kept) ? Math.min(Math.max(kept, -LATEST_MS), LATEST_MS) : 0;
  } catch {
    return Number(byId("delay")?.value) || 0;
  }
}

function keepDelay(value_ms) {
  byId("delay").value = String(Math.round(value_ms));
  try {
    localStorage.setItem(KEPT, String(value_ms));
  } catch {
    // a browser that keeps nothing: it holds as long as it stands in the field
  }
}

function tellDelay() {
  const clicks = Array.from({ length: CLICKS - NOT_COUNTED }, (_, i) => (i + NOT_COUNTED) * CLICK_S);
  const told = delayOf(clicks, taps);
  if (told === null) return void write("delay-told", `Too few claps came near a click: at least ${LEAST_TAPS} are needed. Nothing is changed.`);
  keepDelay(told.offset_ms);
  write("delay-told", `Measured from ${told.count} claps: ${said(told.offset_ms)}, half of them within ${Math.round(told.spread_ms)} ms of that. It is taken off from now on.`);
}

function typedDelay() {
  const typed = Number(byId("delay").value.replace("\u2212", "-"));
  const isGood = byId("delay").value.trim() !== "" && Number.isFinite(typed) && Math.abs(typed) <= LATEST_MS;
  byId("delay").setAttribute("aria-invalid", String(!isGood));
  if (!isGood) return void write("delay-told", `Write milliseconds from -${LATEST_MS} to ${LATEST_MS}; 0 takes nothing off.`);
  keepDelay(typed);
  write("delay-told", "");
}

// -- what people do -----------------------------------------------------------------------------------------------------

function tap(stamp_ms) {
  const at_s = take.placed.toTake(stamp_ms);
  if (!Number.isFinite(at_s) || at_s < -0.5) return;
  taps.push(at_s);
  write("clap-count", `${taps.length} ${taps.length === 1 ? "clap" : "claps"}`);
  byId("clap-pad").animate?.([{ filter: "brightness(1.15)" }, { filter: "none" }], 120);
}

function mark() {
  const sounds = take !== null;
  write("clap-begin", sounds && !take.clicks ? "Stop" : "Play, and clap");
  write("delay-measure", sounds && take.clicks ? "Stop" : "Measure it");
  byId("clap-pad").classList.toggle("live", sounds);
  write("clap-place", "Clap here");
  write("clap-count", "or with the space bar; Esc stops");
}

// The place that is heard, for the eye.
function follow() {
  if (take === null) return;
  if (!isHere()) { // another page has been turned to
    end();
    take = null;
    return;
  }
  const at_s = take.placed.toTake(performance.now());
  if (at_s >= 0) write("clap-place", placeWords(at_s));
  requestAnimationFrame(follow);
}

function placeWords(at_s) {
  if (take.clicks) return at_s < NOT_COUNTED * CLICK_S ? "get into it" : "clap";
  const { told, settings } = take;
  if (told.kind !== "paper") return at_s < take.placed.target_s(told.targets[0]) - 0.05 ? "wait for it" : "clap";
  const x = (at_s * settings.laya) / 60;
  const matra = (Math.floor(x + 1e-6) % told.score.avartan) + 1;
  return x < told.targets[0].x - 0.1 ? `lead-in, ${matra}` : String(matra);
}

const isTyping = (target) => target.matches?.("input:not([type=radio]):not([type=checkbox]), textarea, select");

function pressed(event) {
  if (!isHere() || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "Escape" && take !== null) return stop();
  if (event.key !== " " || take === null || isTyping(event.target)) return;
  event.preventDefault(); // a button with the focus is not pressed meanwhile
  if (!event.repeat) tap(event.timeStamp);
}

function released(event) {
  if (isHere() && event.key === " " && take !== null && !isTyping(event.target)) event.preventDefault();
}

function pointed(event) {
  if (!isHere() || take === null || !event.target.closest?.("#clap-pad")) return;
  event.preventDefault();
  tap(event.timeStamp);
}

function clicked({ target }) {
  if (!isHere()) return;
  const button = target.closest?.("button")?.id;
  if (button === "clap-begin") play();
  if (button === "delay-measure") measure();
  if (button === "clap-pad" && take === null) say("Press Play first, then clap.");
}

function chose({ target }) {
  if (!isHere() || !page().contains(target)) return;
  if (target.id === "delay") return typedDelay();
  if (target.form?.id !== "ask") return;
  if (isRunning()) stop();
  const value = target.type === "radio" ? page().querySelector(`[name=${target.name}]:checked`).value : target.value;
  const others = ["tala", "whose"].includes(target.name) ? [["piece", ""]] : []; // a tihai of another tala is not meant any more
  answer(`?${changed(location.search, [[target.name, value], ...others])}`, true);
}

document.addEventListener("keydown", pressed);
document.addEventListener("keyup", released);
document.addEventListener("pointerdown", pointed);
document.addEventListener("click", clicked);
document.addEventListener("change", chose);
document.addEventListener("submit", (event) => isHere() && event.preventDefault());
addEventListener("popstate", () => isHere() && page().childElementCount > 0 && answer(location.search));
addEventListener("resize", () => {
  const drawing = isHere() ? byId("clap-drawing") : null;
  const { outcome, band } = byId("clap-outcome")?.dataset ?? {};
  if (drawing && outcome) drawing.innerHTML = deviationsSvg(drawingOf(JSON.parse(outcome), Number(band), drawing.clientWidth), drawing.clientWidth);
});
