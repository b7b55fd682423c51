// The form of a chapter: title, notes with a preview, pieces in order and a search for more. What is typed is kept in this
// window until it is saved or left, so that turning to another page loses nothing.
import { differs, keptAs, keptOf, moved } from "../courses.mjs";
import { ask, look } from "./course_asking.mjs";
import { button } from "./making.mjs";

const PAUSE_MS = 300; // after the last key, before the server is asked

// Put the form in the place of a chapter. `save(box, content, done)` writes an edit and shows conflicts in the box, `cancel()`
// leaves the chapter as it was. Gives {changed()}.
export function openForm(section, markup, course, signal, { save, cancel }) {
  section.innerHTML = markup;
  const form = section.querySelector("form");
  const { title, notes } = form.elements;
  const list = form.querySelector(".pieces.editing");
  const chapter = form.dataset.chapter;
  const name = keptAs(course, chapter);
  let seen = Number(form.dataset.seen);
  let last = Promise.resolve();

  const pieces = () => [...list.children].map((each) => each.dataset.piece);
  const content = () => ({ title: title.value, notes: notes.value, pieces: pieces() });
  const saved = content();
  const changed = () => form.isConnected && differs(content(), saved);

  function keep() {
    if (changed()) sessionStorage.setItem(name, JSON.stringify({ ...content(), seen }));
    else sessionStorage.removeItem(name);
  }

  const forget = () => sessionStorage.removeItem(name);

  // -- pieces
  function dress(item) {
    const words = item.querySelector(".piece-name").textContent;
    item.querySelector("[data-add]")?.remove();
    const tools = document.createElement("div");
    tools.className = "piece-tools";
    tools.append(
      button("↑", () => shift(item, -1), { "aria-label": `Move ${words} up` }),
      button("↓", () => shift(item, 1), { "aria-label": `Move ${words} down` }),
      button("Take out", () => drop(item), { "aria-label": `Take out ${words}` }),
    );
    item.append(tools);
  }

  function shift(item, steps) {
    const byName = new Map([...list.children].map((each) => [each.dataset.piece, each]));
    const focused = document.activeElement;
    list.append(...moved(pieces(), item.dataset.piece, steps).map((piece) => byName.get(piece)));
    focused.focus();
    keep();
  }

  function drop(item) {
    const next = item.nextElementSibling ?? item.previousElementSibling;
    item.remove();
    (next?.querySelector("button:last-child") ?? form.querySelector("#piece-find")).focus();
    keep();
  }

  function add(item) {
    if (!pieces().includes(item.dataset.piece)) {
      const own = item.cloneNode(true);
      dress(own);
      list.append(own);
      keep();
    }
    tellAdded(item);
  }

  function tellAdded(item) {
    const pressed = item.querySelector("[data-add]");
    Object.assign(pressed, { disabled: true, textContent: "Added", ariaLabel: `Added: ${item.querySelector(".piece-name").textContent}` });
  }

  // -- what is asked of the server while somebody types, one after the other
  const after = (act) => {
    let timer;
    return () => {
      clearTimeout(timer);
      timer = setTimeout(() => (last = last.then(() => form.isConnected && act())), PAUSE_MS);
    };
  };
  const preview = after(async () => {
    const answer = await ask("/course-preview", { notes: notes.value }, signal);
    if (answer?.preview !== undefined) form.querySelector(".preview").innerHTML = answer.preview;
  });
  const found = form.querySelector("#pieces-found");
  const search = form.querySelector("#piece-find");
  const find = after(async () => {
    const answer = await look(`/course-pieces?find=${encodeURIComponent(search.value)}`, signal);
    if (answer?.found === undefined) return;
    found.innerHTML = answer.found;
    for (const each of found.querySelectorAll("[data-piece]")) {
      if (pieces().includes(each.dataset.piece)) tellAdded(each);
    }
  });

  // -- what was typed before and not saved
  async function bringBack() {
    const kept = keptOf(sessionStorage.getItem(name));
    if (kept === null || !differs(kept, saved)) return forget();
    title.value = kept.title;
    notes.value = kept.notes;
    seen = kept.seen;
    const there = new Map([...list.children].map((each) => [each.dataset.piece, each]));
    const missing = kept.pieces.filter((piece) => !there.has(piece));
    const looked = missing.length === 0 ? null : await look(`/course-pieces?${new URLSearchParams(missing.map((piece) => ["piece", piece]))}`, signal);
    const box = document.createElement("div");
    box.innerHTML = looked?.found ?? "";
    for (const each of box.querySelectorAll("[data-piece]")) {
      dress(each);
      there.set(each.dataset.piece, each);
    }
    list.replaceChildren(...kept.pieces.map((piece) => there.get(piece)).filter(Boolean));
    form.querySelector(".again").hidden = false;
    preview();
  }

  for (const item of list.children) dress(item);
  bringBack();
  title.focus();

  form.addEventListener("input", (event) => {
    if (event.target === search) return find();
    if (event.target === notes) preview();
    keep();
  });
  form.addEventListener("keydown", (event) => {
    const buttons = [...found.querySelectorAll("[data-add]:not(:disabled)")];
    const at = buttons.indexOf(event.target);
    if (event.target === search && event.key === "Enter") event.preventDefault(); // it would save the chapter
    if (event.key === "Escape" && at >= 0) search.focus();
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const item = event.target.closest(".pieces.editing > li");
    if (step && event.altKey && item) {
      event.preventDefault();
      shift(item, step);
    }
    if (!step || event.altKey || (event.target !== search && at < 0)) return;
    const next = at + step < 0 ? search : buttons[at + step];
    if (next) {
      event.preventDefault();
      next.focus();
    }
  });
  form.addEventListener("click", ({ target }) => {
    const pressed = target.closest?.("button");
    if (!pressed) return;
    if (pressed.dataset.add !== undefined) {
      const buttons = [...found.querySelectorAll("[data-add]:not(:disabled)")];
      const next = buttons[buttons.indexOf(pressed) + 1] ?? search;
      add(pressed.closest("[data-piece]"));
      next.focus();
    } else if ("cancel" in pressed.dataset || "forget" in pressed.dataset) {
      forget();
      cancel();
    } else if ("remove" in pressed.dataset) {
      save(form.querySelector(".conflict"), { do: "remove", chapter, seen }, forget);
    }
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    save(form.querySelector(".conflict"), { do: "chapter", chapter, seen, ...content() }, forget);
  });
  return { changed };
}
