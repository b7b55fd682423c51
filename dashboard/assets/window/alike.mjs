// From a passage that is selected to its like in the archive.
import { byId, desk, on } from "./desk.mjs";
import { bind } from "./keyboard.mjs";

const address = ({ slug }, { from_s, to_s }) =>
  `/like/${encodeURIComponent(slug)}?${new URLSearchParams({ from: from_s.toFixed(3), to: to_s.toFixed(3) })}`;

function find() {
  if (desk.selection !== null) location.assign(address(desk.data, desk.selection));
}

function offer() {
  byId("find-like")?.toggleAttribute("hidden", desk.selection === null);
}

on("opened", () => {
  byId("find-like")?.addEventListener("click", find, { signal: desk.signal });
  offer();
});
on("selected", offer);

bind("Select", [
  { key: "i", words: "find its like in the archive", act: find, when: () => desk.selection !== null && byId("find-like") !== null },
]);
