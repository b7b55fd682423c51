// The list of performances: choices narrow it while one types, headings sort it, and the address says what is shown.
import { fetchJson } from "./fetching.mjs";
import { choicesIn, chosen } from "../listing.mjs";
import { showWork } from "./work.mjs";
import { isPlain } from "./turning.mjs";

const TYPED_MS = 160;

export function showList(region, parts, signal) {
  region.innerHTML = `<div id="work" class="work" aria-live="polite"></div><div id="concerts-filters"></div>
<p id="concerts-said" class="wrong" role="alert"></p><div id="concerts-list"></div>`;
  const part = (name) => region.querySelector(`#concerts-${name}`);
  part("filters").innerHTML = parts.filters ?? "";
  part("list").innerHTML = parts.list;
  let there = location.search;
  let timer = 0;
  let asked = 0;

  async function list(search, push) {
    const number = ++asked;
    there = search ? `?${search}` : "";
    const address = `/${there}`;
    if (push) history.pushState({}, "", address);
    else history.replaceState({}, "", address);
    try {
      const { content } = await fetchJson(`/performances${there}`, { signal });
      if (number !== asked) return;
      part("list").innerHTML = content.list;
      part("said").textContent = "";
    } catch (error) {
      if (error.name !== "AbortError" && number === asked) part("said").textContent = error.message;
    }
  }

  const form = region.querySelector("form");
  const choose = () => list(chosen(location.search, [...new FormData(form)]), false);
  form?.addEventListener("submit", (event) => event.preventDefault(), { signal });
  form?.addEventListener(
    "input",
    (event) => {
      clearTimeout(timer);
      timer = setTimeout(choose, event.target.type === "search" ? TYPED_MS : 0);
    },
    { signal },
  );
  region.addEventListener(
    "click",
    (event) => {
      const link = event.target.closest?.("a[data-list]");
      if (!link || !isPlain(event)) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      const column = link.closest("th")?.cellIndex;
      list(new URL(link.href).search.slice(1), true).then(() => focusOn(column));
      fill();
    },
    { signal, capture: true },
  );
  // a link of the navigation leads here too, and Dash does not notice what was narrowed since
  addEventListener(
    "_dashprivate_pushstate",
    () => {
      if (location.pathname !== "/" || location.search === there) return;
      list(location.search.slice(1), false);
      fill();
    },
    { signal },
  );

  // What was pressed is another element now: stay on the heading, or go to the top of another page of the list.
  function focusOn(column) {
    const region = part("list").querySelector(".table-region");
    const heading = column === undefined ? null : region?.querySelectorAll("thead a")[column];
    (heading ?? region)?.focus({ preventScroll: heading !== null });
  }

  function fill() {
    for (const [name, value] of Object.entries(choicesIn(location.search))) {
      const field = form?.elements[name];
      if (!field) continue;
      if (field.type === "checkbox") field.checked = value === "1";
      else field.value = value;
    }
  }

  showWork(region.querySelector("#work"), signal, { brief: true, ended: () => list(location.search.slice(1), false) });
}
