// Undo and redo, and what became of the concert or of a row, with the way back to how it was then.
//
// What is marked and not saved is taken back first, key by key (marks.mjs); then what was saved, edit by edit.
import { byId, desk, on } from "./desk.mjs";
import { showConflict } from "./conflict.mjs";
import { fetchJson } from "./fetching.mjs";
import { bind } from "./keyboard.mjs";
import { button, make, tellIn } from "./making.mjs";
import { canEdit, listing, renew } from "./marked.mjs";
import { unmark, remark } from "./marks.mjs";
import { attempt, placeOf } from "./posting.mjs";

let row = { table: "", key: "" }; // whose history is shown; all of the concert's where empty

async function take(kind) {
  if (kind === "undo" ? unmark() : remark()) return;
  await attempt(kind, {}, (conflict) => showConflict(conflict, {}));
  await renew();
}

bind("Mark", [
  { key: "Ctrl+z", words: "undo", act: () => take("undo"), when: canEdit },
  { key: ["Ctrl+Shift+z", "Ctrl+y"], words: "redo", act: () => take("redo"), when: canEdit },
]);

on("opened", () => {
  const press = (id, act) => byId(id)?.addEventListener("click", act, { signal: desk.signal });
  press("undo", () => take("undo"));
  press("redo", () => take("redo"));
  const details = byId("mark-history");
  details?.addEventListener("toggle", () => details.open && fillHistory(), { signal: desk.signal });
});

on("listed", () => {
  for (const kind of ["undo", "redo"]) {
    const words = listing()[kind];
    const key = kind === "undo" ? "Ctrl+Z" : "Ctrl+Shift+Z";
    byId(kind)?.setAttribute("title", words ? `${kind === "undo" ? "Undo" : "Redo"}: ${words} (${key})` : `Nothing of yours to ${kind} (${key})`);
  }
  if (byId("mark-history")?.open) fillHistory();
});

// Show what became of a row, or with empty names of the whole concert.
export function showHistory(table, key) {
  row = { table, key };
  const details = byId("mark-history");
  if (details.open) fillHistory();
  else details.open = true;
  details.scrollIntoView({ block: "nearest" });
}

async function fillHistory() {
  const place = byId("history-list");
  try {
    const { content } = await fetchJson(`${placeOf("history")}?${new URLSearchParams(row)}`);
    const whose = row.key === "" ? "of the concert" : `of ${row.table.replace(/s$/, "")} ${row.key}`;
    place.replaceChildren(
      make("p", {}, `The history ${whose}, newest first. `, row.key === "" ? null : button("All of the concert", () => showHistory("", ""))),
      make("ol", { className: "history" }, content.entries.map(entryOf)));
  } catch (error) {
    tellIn(place, error.message, "wrong");
  }
}

function entryOf({ revision, who, when, why, taken_back, changes }, place) {
  const item = make("li", { className: taken_back ? "taken-back" : "" },
    make("p", {}, make("b", {}, why || `revision ${revision}`), taken_back ? " (taken back)" : "", make("br"), make("span", { className: "quiet" }, `${who}, ${when}, revision ${revision}`)),
    make("ul", {}, changes.map((change) => make("li", {}, change))));
  if (place > 0) item.append(button("As it was then", () => look(revision, item), { "aria-label": `as it was at revision ${revision}` }));
  return item;
}

// What going back would change, before it is done.
async function look(revision, item) {
  const box = make("div", { role: "status" });
  item.querySelector("[role=status]")?.remove();
  item.append(box);
  try {
    const { content } = await fetchJson(`${placeOf("as-of")}?${new URLSearchParams({ revision, ...row })}`);
    if (content.count === 0) return tellIn(box, "Nothing would change: it is so now.");
    tellIn(box, ["This would change:", ...content.changes]);
    box.firstElementChild.append(
      button("Bring it back", async () => {
        await attempt("as-of", { revision, ...row, seen: content.seen }, (conflict) => showConflict(conflict, {}));
        await renew();
      }),
      button("Leave it", () => box.remove()));
  } catch (error) {
    tellIn(box, error.message, "wrong");
  }
}
