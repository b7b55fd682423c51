// A tihai, a phrase or a section opened for editing: every field, its times as flags on the lines, the count as one types; and a
// new phrase over the selected passage, with a draft offered.
//
// form is {table, key, seen, fields, base: {word: text}, title}; key "" is a new phrase. What stands in its inputs is what is meant;
// only what differs from `base` is sent. When somebody else changes the row meanwhile, both versions are shown at once.
import { formatClock, parseClock } from "../clock.mjs";
import { showConflict, hideConflict } from "./conflict.mjs";
import { countIn } from "./counting.mjs";
import { byId, desk, on, say, tell } from "./desk.mjs";
import { fetchJson } from "./fetching.mjs";
import { setFlags } from "./flags.mjs";
import { bind } from "./keyboard.mjs";
import { button, make, tellIn } from "./making.mjs";
import { canEdit, listing, renew } from "./marked.mjs";
import { go, here } from "./over.mjs";
import { attempt, isOwn, placeOf, write } from "./posting.mjs";
import { showHistory } from "./undoing.mjs";

const WIDE = 14; // letters for which half the form has no room

let form = null;

const place = () => byId("row-form");
const inputs = (word) => [...place().querySelectorAll(`[data-word="${word}"]`)];
const valueOf = (word) => inputs(word).map(({ value }) => value.trim()).filter((text, i, all) => text !== "" || all.length === 1).join(",");
const baseOf = (fields) => Object.fromEntries(fields.map(({ word, value }) => [word, [value].flat().join(",")]));
export const isOpenForm = () => form !== null && canEdit();

// What was changed in the form that is open, or null: {table, key, seen, fields}.
export function changedInForm() {
  if (!isOpenForm()) return null;
  const written = form.fields.map(({ word }) => [word, valueOf(word)]);
  const changed = written.filter(([word, text]) => text !== form.base[word]);
  const { table, key, seen } = form;
  return changed.length === 0 ? null : { table, key, seen, fields: Object.fromEntries(key === "" ? written : changed) };
}

const rowAddress = (table, key) => `${placeOf("row")}?${new URLSearchParams({ table, key })}`;

export async function openRow(table, key, kept = null) {
  if (!isFree(table, key)) return;
  try {
    const { content } = await fetchJson(rowAddress(table, key), { signal: desk.signal });
    draw({ ...content, base: baseOf(content.fields) });
    if (kept !== null) {
      fill(kept.fields);
      if (kept.seen !== form.seen) form.seen = kept.seen; // as it was looked at then: what others did since is put together or told
    }
    const times = form.fields.filter(({ kind }) => kind.startsWith("time")).map(({ value }) => parseClock([value].flat()[0]));
    if (times[0] !== undefined && times[0] !== null) go(times[0]);
  } catch (error) {
    say(error.message);
  }
}

// Whether another row may be opened: not while something in this one is changed and not saved.
function isFree(table, key) {
  const changed = changedInForm();
  if (changed === null || (changed.table === table && changed.key === key)) return true;
  say(`Save ${form.title} first, or close it: something in it is changed.`);
  place().scrollIntoView({ block: "nearest" });
  return false;
}

// A new phrase over the selection; or one that was begun earlier, with its fields.
export function openPhrase(begun = null) {
  const { selection } = desk;
  if (selection === null && begun === null) return say("Select a passage first: drag over the lines, or a for the avartan that sounds.");
  if (!isFree("phrases", "")) return;
  const time = (time_s) => formatClock(time_s, 3);
  const field = (word, label, kind, value, hint = "") => ({ word, label, kind, value, hint, options: [] });
  const fields = [
    field("from", "From", "time", time(selection?.from_s ?? 0)), field("to", "To", "time", time(selection?.to_s ?? 0)),
    field("swaras", "Swaras", "notation", "", "One word a matra."), field("role", "Role", "text", "", "Mukhra, sthayi, antara, tan, pakad, or words of your own."),
  ];
  draw({ table: "phrases", key: "", seen: 0, title: "a new phrase", fields, base: baseOf(fields) });
  if (begun !== null) fill(begun);
  inputs("swaras")[0].focus();
}

function draw(opened) {
  form = opened;
  const { table, key, title, fields } = form;
  const extra = table === "sections"
    ? [button("Split it at the place", splitHere, { title: "Two sections, the second from where the cursor stands" }), button("Join with the next", joinNext)]
    : [button("Draft of it", draft, { title: "What the melody seems to be, on the grid; to be corrected by ear" })];
  place().replaceChildren(make("form", { className: "row-form", onsubmit: (event) => (event.preventDefault(), save()) },
    make("h3", {}, title[0].toUpperCase() + title.slice(1)),
    fields.map(fieldOf),
    make("div", { id: "row-count", role: "status" }),
    make("div", { className: "choices" },
      make("button", { type: "submit", className: "main" }, "Save"), extra,
      key === "" ? null : button("Its history", () => showHistory(table, key)),
      button("Close", close))));
  renewed();
  place().scrollIntoView({ block: "nearest" });
}

function fieldOf({ word, label, kind, value, hint, options }, number) {
  const id = `row-${word}`;
  const common = { "data-word": word, autocomplete: "off", oninput: renewed };
  const named = make("label", { htmlFor: id }, termed(label, hint));
  if (kind === "choice") {
    const wide = options.some(([, text]) => text.length > WIDE);
    return make("div", { className: wide ? "field wide" : "field" }, named,
      make("select", { id, ...common }, options.map(([each, text]) => make("option", { value: each, selected: each === value }, text))));
  }
  if (kind === "times") {
    return make("div", { className: "field" }, make("div", { className: "label" }, termed(label, hint)),
      make("div", { className: "thirds" }, [0, 1, 2].map((i) => make("input", { type: "text", "aria-label": `${label}, ${i + 1}`, value: value[i] ?? "", ...common }))));
  }
  const list = options.length > 0 ? make("datalist", { id: `${id}-${number}` }, options.map(([each, text]) => make("option", { value: each }, text))) : null;
  const input = make("input", { type: "text", id, value, ...common });
  if (list !== null) input.setAttribute("list", list.id); // the property can only be read
  return make("div", { className: kind === "notation" || value.length > WIDE ? "field wide" : "field" }, named, input, list);
}

// The words of a label; `hint` is told as the meaning of a word is (meanings.mjs).
const termed = (label, hint) => (hint ? make("span", { className: "term", "data-meaning": hint }, label) : label);

function fill(fields) {
  for (const [word, text] of Object.entries(fields)) {
    const boxes = inputs(word);
    const parts = boxes.length > 1 ? text.split(",") : [text];
    boxes.forEach((box, i) => (box.value = parts[i] ?? ""));
  }
  renewed();
}

// After anything in the form has changed: flags, count, and word for whoever keeps it.
function renewed() {
  if (!isOpenForm()) return setFlags("row", []);
  const flags = form.fields.filter(({ kind }) => kind.startsWith("time")).flatMap(({ word, label, kind }) =>
    inputs(word).map((box, i) => ({ box, time_s: parseClock(box.value), id: `${word} ${i}`, kind: kindOf(word), text: kind === "times" ? `palla ${i + 1}` : label.toLowerCase() })));
  setFlags("row", flags.filter(({ time_s }) => time_s !== null).map(({ box, ...flag }) => ({
    ...flag,
    move: (time_s) => {
      box.value = formatClock(time_s, 3) === formatClock(time_s, 4) ? formatClock(time_s, 3) : time_s.toFixed(4);
      renewed();
    },
  })));
  count();
  tell("typed");
}

const kindOf = (word) => (word === "starts" ? "palla" : word === "landing" || word === "to" ? "landing" : "edge");

function count() {
  const text = (word) => (inputs(word).length === 0 ? "" : inputs(word)[0].value);
  if (form.table === "phrases") countIn("row-count", { of: "phrase", swaras: text("swaras"), from: text("from"), to: text("to") });
  if (form.table === "tihais") {
    const [first, second, third] = inputs("starts").map(({ value }) => value);
    const rest = Object.fromEntries(["landing", "palla", "dam", "start", "target", "rule"].map((word) => [word, text(word)]));
    countIn("row-count", { of: "tihai", first, second, third, ...rest });
  }
}

export function close() {
  form = null;
  place()?.replaceChildren();
  hideConflict();
  setFlags("row", []);
  tell("typed");
}

export async function save(keep = "") {
  if (form === null) return;
  const { table, key } = form;
  const changed = changedInForm();
  if (changed === null) return say("Nothing in it is changed.");
  if (key === "") return written(() => write("phrase", { fields: changed.fields }));
  return written(() => write("row", { ...changed, keep }), (conflict) =>
    showConflict(conflict, { mine: () => save("mine"), theirs: () => (form = null, openRow(table, key)) }));
}

async function written(sending, conflicted = null) {
  const saving = form;
  try {
    const { said } = await sending();
    if (form === saving) close(); // unless a row was opened meanwhile
    say(said);
    await renew();
  } catch (error) {
    tellIn(byId("row-count"), error.message, "wrong");
    if (error.conflict && conflicted !== null) conflicted(error.conflict);
  }
}

async function draft() {
  const from_s = parseClock(inputs(form.table === "tihais" ? "starts" : "from")[0].value);
  const ends = form.table === "tihais" ? inputs("starts")[1] : inputs("to")[0];
  const to_s = parseClock(ends?.value ?? "");
  const word = form.table === "tihais" ? "palla" : "swaras";
  const box = byId("row-count");
  if (from_s === null || to_s === null) return tellIn(box, "For a draft its two ends have to be known: write or mark them.", "wrong");
  try {
    const { content } = await fetchJson(`${placeOf("draft")}?from_s=${from_s}&to_s=${to_s}`, { signal: desk.signal });
    tellIn(box, [`A draft, ${content.words}. Correct it by ear.`, content.text, ...content.doubtful]);
    box.firstElementChild.append(button("Take the draft", () => {
      inputs(word)[0].value = content.text;
      renewed();
      inputs(word)[0].focus();
    }));
  } catch (error) {
    tellIn(box, error.message, "wrong");
  }
}

async function splitHere() {
  if (await attempt("split", { key: form.key, at_s: here() })) close();
}

async function joinNext() {
  if (await attempt("join", { key: form.key })) close();
}

// Somebody else has changed the row that is open: show both versions, and go on from theirs only if that is wanted.
on("listed", async () => {
  if (!isOpenForm() || form.key === "") return;
  const { table, key } = form;
  let content;
  try {
    ({ content } = await fetchJson(rowAddress(table, key), { signal: desk.signal }));
  } catch (error) {
    return tellIn(byId("row-count"), `${error.message} It was taken out elsewhere; saving what you changed asks what to do.`, "wrong");
  }
  if (!isOpenForm() || form.key !== key || form.table !== table) return;
  const theirs = baseOf(content.fields);
  const differing = content.fields.filter(({ word }) => theirs[word] !== form.base[word]);
  if (differing.length === 0) return;
  const mine = changedInForm();
  if (mine === null) {
    if (!isOwn(listing().revision)) say(`${form.title} was changed elsewhere: ${differing.map(({ label }) => label.toLowerCase()).join(", ")}.`);
    return draw({ ...content, base: theirs });
  }
  const rows = differing.map(({ word, label }) => ({ label, was: form.base[word], theirs: theirs[word], mine: valueOf(word) }));
  const { last } = listing();
  showConflict({ table, key, who: last.who, when: "just now", revision: content.seen, gone: false, theirs: "", mine: "", rows },
    { mine: () => say("Yours stays in the form. Saving it puts together what can be, and asks about the rest."), theirs: () => draw({ ...content, base: theirs }) });
});

on("opened", ({ again }) => {
  if (!again) form = null;
  if (!again) setFlags("row", []);
  byId("new-phrase")?.addEventListener("click", () => openPhrase(), { signal: desk.signal });
});

bind("Mark", [
  { key: "d", words: "a phrase over the selection, with its draft", act: () => openPhrase(), when: () => canEdit() && desk.selection !== null },
  { key: "Enter", words: "save the row that is open", act: () => save(), when: isOpenForm },
]);
