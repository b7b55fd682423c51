// Marks and changes that are not saved yet are kept in this browser, for each person and recording, and offered when the page is
// opened again: after the window was closed, after a crash, the next day.
import { isWorth, nameOfKept, read, said } from "../waiting.mjs";
import { byId, desk, on, say } from "./desk.mjs";
import { button, make } from "./making.mjs";
import { canEdit, panel } from "./marked.mjs";
import { fieldTexts, putTexts, USUAL } from "./marks.mjs";
import { changedInForm, openPhrase, openRow } from "./rowform.mjs";

const REST_MS = 150;

const SLOTS = ["", " more"]; // the second while what is in the first is offered and not answered yet

let timer = 0;
let own = null; // the slot that this window writes to, once something is kept
const offered = new Set();

const name = (slot) => `${nameOfKept(panel().dataset.person, desk.data.slug)}${slot}`;

function store(act) {
  try {
    return act(localStorage);
  } catch {
    return null; // a browser that keeps nothing: what is marked is lost with the window, as it would be without us
  }
}

function keep() {
  clearTimeout(timer);
  timer = 0;
  if (!canEdit()) return;
  const marks = { at: Date.now(), fields: fieldTexts(), form: changedInForm() };
  if (isWorth(marks, USUAL)) {
    own ??= SLOTS.find((slot) => !offered.has(slot)) ?? SLOTS.at(-1);
    store((kept) => kept.setItem(name(own), JSON.stringify(marks)));
  } else if (own !== null) {
    store((kept) => kept.removeItem(name(own)));
    own = null;
  }
}

function keepSoon() {
  timer ||= setTimeout(keep, REST_MS);
}

function offer() {
  const box = byId("kept-marks");
  if (box === null) return;
  offered.clear();
  box.replaceChildren(...SLOTS.filter((slot) => slot !== own).map((slot) => {
    const kept = read(store((each) => each.getItem(name(slot))));
    if (kept === null || !isWorth(kept, USUAL)) return "";
    offered.add(slot);
    return make("div", { className: "told" },
      make("p", {}, `${said(kept, Date.now())}, not saved.`),
      make("div", { className: "choices" }, button("Take them up", () => takeUp(slot, kept)), button("Drop them", () => drop(slot))));
  }));
}

async function takeUp(slot, kept) {
  keep();
  if (own !== null) return say("Save or drop first what is marked here.");
  own = slot;
  offer();
  putTexts(kept.fields);
  if (kept.form !== null && kept.form.key !== "") await openRow(kept.form.table, kept.form.key, kept.form);
  if (kept.form !== null && kept.form.key === "") openPhrase(kept.form.fields);
  say("Taken up. Save when it is right.");
}

function drop(slot) {
  store((each) => each.removeItem(name(slot)));
  offer();
  say("Dropped.");
}

on("opened", ({ again }) => {
  if (!canEdit()) return;
  if (!again) own = null;
  panel().addEventListener("input", keepSoon, { signal: desk.signal });
  addEventListener("pagehide", () => timer && keep(), { signal: desk.signal });
  addEventListener("storage", ({ key }) => SLOTS.some((slot) => key === name(slot)) && offer(), { signal: desk.signal });
  if (!again) offer();
});
on("marked", keepSoon);
on("typed", keepSoon);
