// Somebody else changed the same first: the versions side by side in a table, and whose is kept.
import { button, make } from "./making.mjs";

// Make what shows a conflict: `words` say it, `rows` are {label, was, theirs, mine}, `who` changed it; `save("mine")` or
// `save("theirs")` is called when one of them is chosen.
export function versions(words, { rows, who }, save) {
  const line = ({ label, ...each }) =>
    make("tr", {}, make("th", { scope: "row" }, label), ["was", "theirs", "mine"].map((which) => make("td", {}, each[which] ?? "")));
  const heads = ["", "Before", who, "Yours"].map((text) => (text === "" ? make("td") : make("th", { scope: "col" }, text)));
  return [
    make("p", { className: "wrong" }, words),
    make("div", { className: "table-region", tabIndex: 0, role: "region", "aria-label": "Both versions" }, make("table", {}, make("thead", {}, make("tr", {}, heads)), make("tbody", {}, rows.map(line)))),
    make("p", { className: "buttons" }, button("Write mine", () => save("mine")), button("Keep theirs", () => save("theirs"))),
  ];
}
