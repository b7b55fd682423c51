// The list of what is saved: sams, tihais, phrases, sections; each leads to its place, is opened for editing, or taken out.
import { byId, on } from "./desk.mjs";
import { showConflict } from "./conflict.mjs";
import { hold } from "./holding.mjs";
import { button, make } from "./making.mjs";
import { canEdit, listing } from "./marked.mjs";
import { go } from "./over.mjs";
import { attempt } from "./posting.mjs";
import { openRow } from "./rowform.mjs";

const KINDS = [["tihais", "Tihais", "tihai"], ["phrases", "Phrases", "phrase"], ["sams", "Sams marked", "sam"], ["sections", "Sections", "section"]];

const opened = new Set(["tihais"]);

function takeOut(table, key) {
  const { revision } = listing();
  return attempt("take-out", { table, key, seen: revision }, (conflict) => showConflict(conflict, {}));
}

// A proposal is accepted or rejected where it is listed; a rejected one is not drawn, and can be opened here again.
function decide(key, status) {
  const { revision } = listing();
  return attempt("row", { table: "tihais", key, seen: revision, fields: { status } }, (conflict) => showConflict(conflict, {}));
}

function rowOf(table, word, { key, at_s, words, proposed }) {
  const name = table === "sams" ? "" : `${key} `;
  const place = button(`${name}${words}`, () => {
    go(at_s);
    if (table === "sams") hold({ sam: true, time_s: at_s });
  }, { className: "place", title: "Go there" });
  const label = `${word} ${key}, ${words}`;
  return make("li", {}, place, make("span", { className: "acts" },
    proposed ? button("accept", () => decide(key, "confirmed"), { "aria-label": `accept ${label}` }) : null,
    proposed ? button("reject", () => decide(key, "rejected"), { "aria-label": `reject ${label}` }) : null,
    table === "sams" ? null : button("edit", () => openRow(table, key), { "aria-label": `edit ${label}` }),
    table === "sections" ? null : button("take out", () => takeOut(table, key), { "aria-label": `take out ${label}` })));
}

function group([table, heading, word]) {
  const rows = listing()[table];
  const list = make("ul", { className: "saved" });
  const fill = () => list.childElementCount === 0 && list.append(...rows.map((row) => rowOf(table, word, row)));
  const details = make("details", { open: opened.has(table) && rows.length > 0 }, make("summary", {}, `${heading} (${rows.length})`), list);
  details.addEventListener("toggle", () => {
    if (details.open) fill();
    opened[details.open ? "add" : "delete"](table);
  });
  if (details.open) fill();
  return details;
}

on("listed", () => {
  const place = byId("saved-marks");
  if (place === null || !canEdit()) return;
  const focused = place.contains(document.activeElement) ? document.activeElement.getAttribute("aria-label") : null;
  place.replaceChildren(...KINDS.map(group));
  if (focused !== null) [...place.querySelectorAll("button")].find((each) => each.getAttribute("aria-label") === focused)?.focus();
});
