// Somebody else changed the same first: both versions side by side, and whose is kept.
import { byId } from "./desk.mjs";
import { button, make } from "./making.mjs";

// Show a conflict as the server tells it. `mine()` and `theirs()` are called when one of them is chosen; without `mine` there is
// nothing to choose.
export function showConflict({ table, key, who, when, revision, gone, theirs, mine, rows }, { mine: keepMine, theirs: keepTheirs = () => {} }) {
  const box = byId("mark-conflict");
  if (box === null) return;
  const chosen = (act) => () => {
    hideConflict();
    act();
  };
  const versionsOf = ({ label, ...each }) => make("div", { className: "versions" }, make("b", {}, label),
    make("dl", {}, [["was", each.was], ["theirs", each.theirs], ["yours", each.mine === each.was ? "as it was" : each.mine]]
      .filter(([, value]) => value !== undefined)
      .map(([name, value]) => make("div", {}, make("dt", {}, name), make("dd", {}, value === "" ? "-" : value)))));
  const versions = rows.length > 0
    ? rows.map(versionsOf)
    : make("p", {}, gone ? "It is taken out. Yours would be: " : `Now: ${theirs}. Yours: `, mine);
  box.replaceChildren(make("div", { className: "told wrong" },
    make("p", {}, `${who} changed ${table.replace(/s$/, "")} ${key} meanwhile (revision ${revision}, ${when}). Yours is not written.`),
    versions,
    make("div", { className: "choices" },
      keepMine ? button("Keep mine", chosen(keepMine)) : null,
      button(keepMine ? "Keep theirs" : "I have seen it", chosen(keepTheirs)))));
  box.scrollIntoView({ block: "nearest" });
}

export function hideConflict() {
  byId("mark-conflict")?.replaceChildren();
}
