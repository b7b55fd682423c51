// The keyboard: modules bind their keys here, and `?` shows all that do something on this page.
//
// bind(heading, [{key, words, act, when, once}]): `key` a name or several (see keys.mjs), `words` what the list says, `act(name, ago_s)`
// what is done, told how long ago the key was pressed, `when()` whether it does anything now (left out: always).
import { agoOf, bound, listed, nameOf } from "../keys.mjs";
import { byId, desk, isOpen, on } from "./desk.mjs";

const PRESSED = "button, summary, input, select, [role=button]";
const groups = [];

export function bind(heading, entries) {
  groups.push({ heading, entries });
}

export const isListShown = () => byId("keys")?.open === true;

function showList(shown) {
  byId("keys")?.toggleAttribute("open", shown);
}

bind("", [
  { key: "?", words: "show or hide these keys", act: () => showList(!isListShown()) },
  { key: "Escape", words: "close these keys", act: () => showList(false), when: isListShown },
]);

function fill() {
  const list = byId("key-list");
  if (!list) return;
  const element = (name, text) => Object.assign(document.createElement(name), { textContent: text });
  const group = ({ heading, keys }) => {
    const pairs = element("dl", "");
    for (const [key, words] of keys) {
      const term = document.createElement("dt");
      term.append(...key.split("  ").map((each) => element("kbd", each)));
      pairs.append(term, element("dd", words));
    }
    const section = document.createElement("section");
    if (heading !== "") section.append(element("h3", heading));
    section.append(pairs);
    return section;
  };
  list.replaceChildren(...listed(groups).map(group));
}

function pressed(event) {
  if (!isOpen()) return;
  const { target } = event;
  const name = nameOf(event, {
    typing: target.matches("input:not([type=radio]):not([type=checkbox]):not([type=range]), textarea, [contenteditable=true]"),
    pressable: target.matches(event.key === " " ? PRESSED : `a, ${PRESSED}`), // a link is followed by Enter alone
    choosing: target.matches("select, input[type=radio], input[type=range], [role=slider], [role=listbox]"),
  });
  const entry = name === null ? null : bound(isListShown() ? [...groups.slice(1), groups[0]] : groups, name);
  if (entry === null) return;
  event.preventDefault();
  if (event.repeat && entry.once) return;
  entry.act(name, agoOf(event.timeStamp, performance.now()));
}

on("opened", () => {
  fill();
  byId("keys")?.addEventListener("toggle", fill, { signal: desk.signal });
});
document.addEventListener("keydown", pressed);
