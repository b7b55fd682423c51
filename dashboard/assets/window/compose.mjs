// The page on which tihais are composed: its choices, what answers them, the piece that is opened, and what is kept.
//
// The address holds all choices; the server answers an address with the parts of the page (dashboard/composing/routes.py). While
// somebody types, the address is rewritten in place; a choice that is made is a step that the back button takes back.
import { asking, changed, has, neighbour } from "../asking.mjs";
import { placeSaid } from "../hear.mjs";
import { bound, listed, nameOf } from "../keys.mjs";
import { drawnRun, unpacked } from "../run.mjs";
import { addressPlaying, adjust, listen, play, prepare, stop } from "./hearing.mjs";

const TYPED_MS = 180;
const byId = (id) => document.getElementById(id);
const page = () => byId("compose");
const isHere = () => page() !== null && location.pathname === "/compose";
const isFilled = () => isHere() && page().childElementCount > 0; // Dash may have put in another, empty one meanwhile

const shown = new WeakMap(); // the markup that each part holds
let drawing = null; // {data, width, spotOf, cursor}
let typing = false;
let timer = 0;
let asked = 0;

const PARTS = `<div id="compose-form"></div><p id="compose-said" role="status"></p><details id="compose-keys" class="compose-keys"><summary>Keys</summary><dl></dl></details>
<div class="compose-bench"><section id="compose-found" aria-label="Solutions"></section><section id="compose-opened" aria-label="The opened piece"></section></div>
<section id="compose-kept" aria-label="Kept compositions"></section>`;

// Called by Dash (start.js) when the page is put in, and when its address was gone back to.
export async function show() {
  if (!isHere()) return "";
  if (!isFilled()) {
    page().innerHTML = PARTS;
    fillKeys();
  }
  await Promise.all([answer(location.search, { form: true }), renewKept()]);
  return location.search;
}

// Fetch the parts for an address, and put in those that are new.
async function answer(search, { form = false, push = null } = {}) {
  const number = ++asked;
  if (push === true) history.pushState({}, "", addressOf(search));
  if (push === false) history.replaceState({}, "", addressOf(search));
  let parts;
  try {
    const fetched = await fetch(`/compose/answer?${search.replace(/^\?/, "")}`, { cache: "no-store" });
    parts = await fetched.json();
    if (!fetched.ok) throw new Error(parts.error);
  } catch (error) {
    if (number === asked && isFilled()) say(error instanceof TypeError ? "The server does not answer. Is it still running?" : error.message);
    return;
  }
  if (number !== asked || !isFilled()) return;
  say("");
  if (push !== null) history.replaceState({}, "", parts.address);
  const kept = focused();
  if (form || byId("ask") === null) put("compose-form", parts.form);
  else byId("places").innerHTML = placesIn(parts.form);
  if (put("compose-found", parts.found)) sift();
  const opened = put("compose-opened", parts.opened);
  refocus(kept);
  tellWrong(parts.wrong);
  for (const [name, id] of [["palla", "counted"], ["plays", "own-counted"]]) write(id, parts.counted[name]);
  mark();
  if (opened) await opening();
}

async function renewKept() {
  const fetched = await fetch("/compose/kept", { cache: "no-store" }).catch(() => null);
  if (!fetched?.ok || !isFilled()) return;
  put("compose-kept", (await fetched.json()).kept);
  mark();
}

const addressOf = (search) => (search === "" || search === "?" ? "/compose" : `/compose?${search.replace(/^\?/, "")}`);
const write = (id, words) => byId(id) && (byId(id).textContent = words);
const say = (words) => write("compose-said", words);

function put(id, markup) {
  const element = byId(id);
  if (shown.get(element) === markup) return false;
  element.innerHTML = markup;
  shown.set(element, markup);
  return true;
}

function placesIn(markup) {
  const parsed = new DOMParser().parseFromString(markup, "text/html");
  return parsed.getElementById("places").innerHTML;
}

function focused() {
  const element = document.activeElement;
  if (!page().contains(element) || element.id === "") return null;
  return { id: element.id, from: element.selectionStart ?? null, to: element.selectionEnd ?? null, value: element.value };
}

function refocus(kept) {
  const element = kept === null ? null : byId(kept.id);
  if (element === null || element === document.activeElement) return;
  element.focus({ preventScroll: true });
  if (kept.from !== null && element.type !== "number" && element.setSelectionRange) {
    if (kept.value !== undefined && element.tagName === "INPUT") element.value = kept.value;
    element.setSelectionRange(kept.from, kept.to);
  }
}

// Say what cannot be read beside its field.
function tellWrong(wrong) {
  for (const element of page().querySelectorAll("[aria-describedby]")) {
    const message = wrong[element.name] ?? "";
    const place = byId(`wrong-${element.name}`);
    if (place === null) continue;
    place.textContent = message;
    place.hidden = message === "";
    element.setAttribute("aria-invalid", String(message !== ""));
  }
}

// Show which solution is the one that is opened, and which is heard.
function mark() {
  const key = byId("compose-opened").querySelector(".piece")?.dataset.key ?? null;
  for (const element of page().querySelectorAll(".solutions > li")) {
    const isOpen = element.dataset.key === key;
    element.classList.toggle("current", isOpen);
    if (isOpen) element.querySelector("a").setAttribute("aria-current", "true");
    else element.querySelector("a").removeAttribute("aria-current");
  }
  const kept = new URLSearchParams(location.search).get("kept");
  for (const element of page().querySelectorAll("[data-kept]")) element.classList.toggle("current", element.dataset.kept === kept);
  markHeard();
}

function markHeard() {
  for (const button of page().querySelectorAll(".hear")) {
    button.setAttribute("aria-pressed", String(button.dataset.score === addressPlaying()));
  }
}

// A piece has been opened: draw it, and fetch what it sounds like.
async function opening() {
  draw();
  const button = byId("sound");
  if (button === null) return stop();
  if (addressPlaying() !== null && addressPlaying() !== button.dataset.score) await hear(button.dataset.score);
  prepare(button.dataset.score, settings()).then(tellScore, () => {});
}

function tellScore(score) {
  const told = [];
  if (score.ticked) told.push("The theka of this tala is not transcribed: its matras are ticked.");
  if (score.plain.length > 0) told.push(`Not in the table of bols, heard as a plain stroke: ${score.plain.join(", ")}.`);
  write("heard-note", told.join(" "));
}

function draw() {
  const region = byId("run");
  if (region === null) return void (drawing = null);
  const data = unpacked(JSON.parse(region.dataset.run));
  const width = region.clientWidth;
  const { markup, spotOf } = drawnRun(data, width);
  region.innerHTML = markup;
  const cursor = Object.assign(document.createElement("div"), { className: "cursor", hidden: true });
  region.append(cursor);
  drawing = { region, width, spotOf, cursor };
}

function settings() {
  const laya = Number(byId("hear-laya")?.value);
  const theka = page().querySelector("input[name=theka]");
  return { laya: laya >= 20 && laya <= 480 ? laya : 120, sa: byId("hear-sa")?.value ?? "4", theka: theka === null || theka.checked };
}

async function hear(address) {
  try {
    await play(address, settings());
  } catch (error) {
    say(error.message === "held back" ? "The browser holds the sound back: press the button once more." : `It cannot be heard: ${error.message}`);
  }
  markHeard();
}

function toggle(button) {
  if (addressPlaying() === button.dataset.score) stop();
  else hear(button.dataset.score);
}

listen(({ playing, place }) => {
  if (!isHere()) return playing ? stop() : undefined;
  markHeard();
  const spot = drawing === null || place === null || addressPlaying() !== byId("sound")?.dataset.score ? null : drawing.spotOf(place.run);
  if (drawing !== null) {
    drawing.cursor.hidden = spot === null;
    if (spot !== null) {
      drawing.cursor.style.height = `${spot.height}px`;
      drawing.cursor.style.transform = `translate(${spot.left}px, ${spot.top}px)`;
    }
  }
  const said = place === null ? "" : placeSaid(place);
  const line = byId("heard");
  if (line !== null && line.textContent !== said) line.textContent = said;
});

// -- what people do ------------------------------------------------------------------------------------------------

const pairsOf = (form) => [...new FormData(form)].map(([name, value]) => [name, String(value)]);

function next(target) {
  if (target.form?.id === "ask") return asking(location.search, pairsOf(target.form));
  if (["own", "carry"].includes(target.form?.id)) return changed(location.search, pairsOf(target.form));
  if (["laya", "sa"].includes(target.name)) return changed(location.search, [[target.name, target.value]]);
  return changed(location.search, [["theka", target.checked ? "" : "off"]]);
}

const isChoice = (target) => ["ask", "own", "carry"].includes(target.form?.id) || ["laya", "sa", "theka"].includes(target.name);

function typed(event) {
  const { target } = event;
  if (!isHere() || !page().contains(target)) return;
  if (target.id === "sift") return sift();
  if (!isChoice(target)) return;
  if (["laya", "sa", "theka"].includes(target.name)) adjust(settings());
  clearTimeout(timer);
  const isStep = !typing;
  typing = true;
  timer = setTimeout(() => answer(next(target), { push: isStep }), target.type === "text" || target.type === "number" ? TYPED_MS : 0);
}

function clicked(event) {
  if (!isHere() || !page().contains(event.target)) return;
  const button = event.target.closest("button");
  if (button?.classList.contains("hear")) return toggle(button);
  if (button?.classList.contains("take-out") || button?.classList.contains("put-back")) return void putAway(button);
  const link = event.target.closest("a");
  if (link === null || event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
  const to = new URL(link.getAttribute("href") || "#", location.href);
  if (to.pathname !== "/compose") return;
  event.preventDefault();
  if (link.getAttribute("href")) follow(to.search, link);
}

async function follow(search, link) {
  typing = false;
  await answer(search, { form: !link.classList.contains("solution"), push: true });
  if (link.closest(".solutions, .kept, .carried, .mends") === null) return;
  const piece = byId("compose-opened").querySelector(".piece");
  if (piece !== null && piece.getBoundingClientRect().top > innerHeight * 0.7) piece.scrollIntoView({ block: "start" });
}

function go(way) {
  const rows = [...page().querySelectorAll(".solutions > li:not([hidden])")];
  const key = neighbour(rows.map((row) => row.dataset.key), page().querySelector(".solutions > .current")?.dataset.key, way);
  const row = rows.find((each) => each.dataset.key === key);
  if (row === undefined) return;
  row.querySelector("a").focus({ preventScroll: true });
  row.scrollIntoView({ block: "nearest" });
  follow(new URL(row.querySelector("a").href).search, row.querySelector("a"));
}

function sift() {
  const wanted = byId("sift")?.value ?? "";
  const rows = [...page().querySelectorAll(".solutions > li")];
  for (const row of rows) row.hidden = wanted.trim() !== "" && !has(row.textContent, wanted);
  const shown = rows.filter((row) => !row.hidden).length;
  write("sifted", shown < rows.length ? `${shown} of ${rows.length}` : "");
}

async function send(address, pairs) {
  const fetched = await fetch(address, { method: "POST", body: new URLSearchParams(pairs) }).catch(() => null);
  if (fetched === null) return { error: "The server does not answer. Nothing was written." };
  return fetched.json().catch(() => ({ error: `The server answered ${fetched.status}; nothing was written.` }));
}

async function keep(form, asAnother) {
  const pairs = pairsOf(form).filter(([name]) => !asAnother || name !== "key");
  const told = await send("/compose/keep", [...new URLSearchParams(location.search), ...pairs]);
  if (told.error) return void write("keep-told", told.error);
  await Promise.all([answer(new URL(told.address, location.href).search, { form: true, push: true }), renewKept()]);
  write("keep-told", told.said);
}

async function putAway(button) {
  const out = button.classList.contains("take-out");
  const told = await send(`/compose/${out ? "take-out" : "put-back"}`, Object.entries({ key: button.dataset.key, seen: button.dataset.seen ?? "" }));
  await Promise.all([answer(location.search), renewKept()]);
  say(told.error ?? told.said);
}

function submitted(event) {
  if (!isHere() || !page().contains(event.target)) return;
  event.preventDefault();
  if (event.target.id === "keep") keep(event.target, event.submitter?.dataset.another === "yes");
}

const KEYS = [
  {
    heading: "Compose",
    entries: [
      { key: "Space", words: "play the opened piece, or stop", act: () => byId("sound") && toggle(byId("sound")) },
      {
        key: ["ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight"],
        words: "the solution before, the one after",
        act: (key) => go(["ArrowUp", "ArrowLeft"].includes(key) ? -1 : 1),
        when: () => page()?.querySelector(".solutions") !== null,
      },
      { key: "?", words: "show or hide these keys", act: () => byId("compose-keys").toggleAttribute("open") },
    ],
  },
];

function fillKeys() {
  const element = (name, text) => Object.assign(document.createElement(name), { textContent: text });
  const list = byId("compose-keys").querySelector("dl");
  const all = KEYS.map(({ entries }) => ({ heading: "", entries: entries.map((entry) => ({ ...entry, when: undefined })) }));
  for (const [key, words] of listed(all)[0].keys) {
    const term = document.createElement("dt");
    term.append(...key.split("  ").map((each) => element("kbd", each)));
    list.append(term, element("dd", words));
  }
}

function pressed(event) {
  if (!isHere() || event.defaultPrevented) return;
  const { target } = event;
  const name = nameOf(event, {
    typing: target.matches("input:not([type=radio]):not([type=checkbox]), textarea"),
    pressable: target.matches("button, summary, select, input"),
    choosing: target.matches("select, input[type=radio]"),
  });
  const entry = name === null ? null : bound(KEYS, name);
  if (entry === null) return;
  event.preventDefault();
  entry.act(name);
}

document.addEventListener("input", typed);
document.addEventListener("change", () => (typing = false));
document.addEventListener("click", clicked);
document.addEventListener("submit", submitted);
document.addEventListener("keydown", pressed);
addEventListener("popstate", () => isFilled() && answer(location.search, { form: true }));
addEventListener("resize", () => drawing !== null && isHere() && drawing.region.isConnected && drawing.region.clientWidth !== drawing.width && draw());
