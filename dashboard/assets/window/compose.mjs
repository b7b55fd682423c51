// The page on which tihais are composed: its choices, what answers them, and what people do there.
//
// The address holds all choices; the server answers an address with the parts of the page (dashboard/composing/routes.py).
// While somebody types, the address is rewritten in place; a choice that is made is a step that the back button takes back.
import { asking, changed, has, neighbour } from "../asking.mjs";
import { bound, listed, nameOf } from "../keys.mjs";
import { SETTINGS, adjusted, markHeard, opening, toggle } from "./compose_heard.mjs";
import { isPutAway, keep, putAway, renewKept } from "./compose_kept.mjs";
import { byId, fill, isFilled, isHere, page, pairsOf, put, say, tellWrong, write } from "./compose_page.mjs";

const TYPED_MS = 180; // from the last key to asking the server
const FORMS = ["ask", "own", "carry"]; // whose fields are choices

let typing = false;
let timer = 0;
let asked = 0;

// Called by Dash (start.js) when the page is put in, and when its address was gone back to.
export async function show() {
  if (!isHere()) return "";
  if (!isFilled()) {
    fill();
    fillKeys();
  }
  await Promise.all([answer(location.search, { form: true }), renewKept()]);
  return location.search;
}

// Fetch the parts for an address, and put in those that are new. `push` makes it a step back, false rewrites the address.
async function answer(search, { form = false, push = null } = {}) {
  const number = ++asked;
  const choices = search.replace(/^\?/, "");
  if (push !== null) history[push ? "pushState" : "replaceState"]({}, "", choices === "" ? "/compose" : `/compose?${choices}`);
  const parts = await fetchParts(choices);
  if (number !== asked || !isFilled()) return;
  if (parts.error) return void say(parts.error);
  say("");
  if (push !== null) history.replaceState({}, "", parts.address);
  if (form || byId("ask") === null) put("compose-form", parts.form);
  else byId("places").innerHTML = new DOMParser().parseFromString(parts.form, "text/html").getElementById("places").innerHTML;
  if (put("compose-found", parts.found)) sift();
  const isNew = put("compose-opened", parts.opened);
  tellWrong(parts.wrong);
  write("counted", parts.counted.palla);
  write("own-counted", parts.counted.plays);
  mark();
  if (isNew) await opening();
}

async function fetchParts(choices) {
  try {
    const fetched = await fetch(`/compose/answer?${choices}`, { cache: "no-store" });
    return await fetched.json();
  } catch {
    return { error: "The server does not answer. Is it still running?" };
  }
}

// Show which solution is the one that is opened, which of what is kept, and which is heard.
function mark() {
  const key = byId("compose-opened").querySelector(".piece")?.dataset.key ?? null;
  for (const row of page().querySelectorAll(".solutions > li")) {
    row.classList.toggle("current", row.dataset.key === key);
    if (row.dataset.key === key) row.querySelector("a").setAttribute("aria-current", "true");
    else row.querySelector("a").removeAttribute("aria-current");
  }
  const kept = new URLSearchParams(location.search).get("kept");
  for (const row of page().querySelectorAll("[data-kept]")) row.classList.toggle("current", row.dataset.kept === kept);
  markHeard();
}

// Hide the solutions that are not looked for.
function sift() {
  const wanted = byId("sift")?.value ?? "";
  const rows = [...page().querySelectorAll(".solutions > li")];
  for (const row of rows) row.hidden = !has(row.textContent, wanted);
  const left = rows.filter((row) => !row.hidden).length;
  write("sifted", left < rows.length ? `${left} of ${rows.length}` : "");
}

// -- what people do ------------------------------------------------------------------------------------------------------

const isSetting = ({ name }) => SETTINGS.includes(name);

function next(field) {
  if (field.form?.id === "ask") return asking(location.search, pairsOf(field.form));
  if (FORMS.includes(field.form?.id)) return changed(location.search, pairsOf(field.form));
  return changed(location.search, [[field.name, field.type === "checkbox" ? (field.checked ? "" : "off") : field.value]]);
}

function typed({ target }) {
  if (!isHere() || !page().contains(target)) return;
  if (target.id === "sift") return sift();
  if (!FORMS.includes(target.form?.id) && !isSetting(target)) return;
  if (isSetting(target)) adjusted();
  clearTimeout(timer);
  const isStep = !typing;
  typing = true;
  const wait_ms = target.matches("select, [type=radio], [type=checkbox]") ? 0 : TYPED_MS;
  timer = setTimeout(() => answer(next(target), { push: isStep }), wait_ms);
}

function clicked(event) {
  if (!isHere() || !page().contains(event.target)) return;
  const button = event.target.closest("button");
  if (button?.classList.contains("hear")) return toggle(button);
  if (isPutAway(button)) return void shelve(button);
  const link = event.target.closest("a");
  if (link === null || event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
  const to = new URL(link.getAttribute("href") || "#", location.href);
  if (to.pathname !== "/compose") return;
  event.preventDefault();
  if (link.getAttribute("href")) follow(link);
}

async function follow(link) {
  typing = false;
  await answer(new URL(link.href).search, { form: !link.classList.contains("solution") || link.closest(".kept") !== null, push: true });
  if (link.closest(".solutions, .kept, .carried, .mends") === null) return;
  const piece = byId("compose-opened").querySelector(".piece");
  const { top, bottom } = piece?.getBoundingClientRect() ?? { top: 0, bottom: 1 };
  if (top > innerHeight * 0.7 || bottom < 0) piece.scrollIntoView({ block: "start" });
}

function go(way) {
  const rows = [...page().querySelectorAll(".solutions > li:not([hidden])")];
  const current = page().querySelector(".solutions > .current")?.dataset.key;
  const key = neighbour(rows.map((row) => row.dataset.key), current, way);
  const link = rows.find((row) => row.dataset.key === key)?.querySelector("a");
  if (!link) return;
  link.focus({ preventScroll: true });
  link.closest("li").scrollIntoView({ block: "nearest" });
  follow(link);
}

async function submitted(event) {
  const { target, submitter } = event;
  if (!isHere() || !page().contains(target)) return;
  event.preventDefault();
  if (target.id !== "keep") return;
  const told = await keep(target, submitter?.dataset.another === "yes");
  if (told.error) return void write("keep-told", told.error);
  for (const field of target.querySelectorAll("input, textarea")) field.defaultValue = field.value; // it is no draft any more
  await Promise.all([answer(new URL(told.address, location.href).search, { form: true, push: true }), renewKept()]);
  mark();
  write("keep-told", told.said);
}

async function shelve(button) {
  const told = await putAway(button);
  await Promise.all([answer(location.search), renewKept()]);
  mark();
  say(told.error ?? told.said);
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
        when: () => page().querySelector(".solutions") !== null,
      },
      { key: "?", words: "show or hide these keys", act: () => byId("compose-keys").toggleAttribute("open") },
    ],
  },
];

// The list of keys is made before there is anything to go through: all of them are told.
function fillKeys() {
  const element = (name, text) => Object.assign(document.createElement(name), { textContent: text });
  const [{ heading, entries }] = KEYS;
  const all = [{ heading, entries: entries.map(({ key, words }) => ({ key, words })) }];
  for (const [key, words] of listed(all)[0].keys) {
    const term = document.createElement("dt");
    term.append(...key.split("  ").map((each) => element("kbd", each)));
    byId("compose-keys").querySelector("dl").append(term, element("dd", words));
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
addEventListener("focus", () => isFilled() && renewKept().then(mark)); // somebody may have kept something in another window
