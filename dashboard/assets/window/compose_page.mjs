// The page on which tihais are composed, as its modules share it: where it is, its parts, and what is written into them.

export const byId = (id) => document.getElementById(id);
export const page = () => byId("compose");
export const isHere = () => page() !== null && location.pathname === "/compose";
export const isFilled = () => isHere() && page().childElementCount > 0; // Dash may have put in another, empty one meanwhile

export const write = (id, words) => byId(id) && (byId(id).textContent = words);
export const say = (words) => write("compose-said", words);
export const pairsOf = (form) => [...new FormData(form)].map(([name, value]) => [name, String(value)]);

const PARTS = [
  '<div id="compose-form"></div>',
  '<p id="compose-said" role="status"></p>',
  '<details id="compose-keys" class="compose-keys"><summary>Keys</summary><dl></dl></details>',
  '<div class="compose-bench"><section id="compose-found" aria-label="Solutions"></section>',
  '<section id="compose-opened" aria-label="The opened piece"></section></div>',
  '<section id="compose-kept" aria-label="Kept compositions"></section>',
].join("");
const shown = new WeakMap(); // the markup that each part holds

export function fill() {
  page().innerHTML = PARTS;
}

// Put markup from the server into a part; tells whether it is new. What somebody is typing stays under their hands.
export function put(id, markup) {
  const element = byId(id);
  if (shown.get(element) === markup) return false;
  const [at, draft] = [focused(element), draftIn(element)];
  element.innerHTML = markup;
  shown.set(element, markup);
  restore(element, draft);
  refocus(at);
  return true;
}

function focused(element) {
  const field = document.activeElement;
  if (!element.contains(field) || field.id === "") return null;
  return { id: field.id, from: field.selectionStart ?? null, to: field.selectionEnd ?? null, value: field.value };
}

function refocus(at) {
  const field = at === null ? null : byId(at.id);
  if (field === null) return;
  field.focus({ preventScroll: true });
  if (at.from === null || field.type === "number" || !field.setSelectionRange) return;
  if (field.tagName === "INPUT") field.value = at.value;
  field.setSelectionRange(at.from, at.to);
}

// The name and notes of what is not kept yet do not stand in the address: they are carried over while the piece changes.
const keeping = (element) => element.querySelector("#keep");
const fieldsOf = (form) => [form.elements.namedItem("name"), form.elements.namedItem("notes")];

function draftIn(element) {
  const form = keeping(element);
  const changed = form !== null && fieldsOf(form).some((field) => field.value !== field.defaultValue);
  return changed ? { key: form.elements.namedItem("key").value, values: fieldsOf(form).map(({ value }) => value) } : null;
}

function restore(element, draft) {
  const form = keeping(element);
  if (draft === null || form === null || form.elements.namedItem("key").value !== draft.key) return;
  fieldsOf(form).forEach((field, i) => (field.value = draft.values[i]));
}

// Say what cannot be read beside its field.
export function tellWrong(wrong) {
  for (const field of page().querySelectorAll("[aria-describedby]")) {
    const message = wrong[field.name] ?? "";
    const place = byId(`wrong-${field.name}`);
    if (place === null) continue;
    const [told, ...rest] = message.split("\n"); // a message of several lines points at a place with a caret
    place.textContent = told;
    if (rest.length > 0) place.append(Object.assign(document.createElement("code"), { textContent: rest.join("\n") }));
    place.hidden = message === "";
    field.setAttribute("aria-invalid", String(message !== ""));
  }
}
