// Recordings that are being taken in: asked for while there are any, shown with how far each is, to be cancelled or opened.
import { fetchJson } from "./fetching.mjs";
import { orderWords } from "../sending.mjs";

const EVERY_MS = 1200;

const element = (kind, properties, ...parts) => {
  const made = Object.assign(document.createElement(kind), properties);
  made.append(...parts);
  return made;
};

// Show one's work in a place; `ended` is called when a recording has come into the archive meanwhile. Returns a function that
// looks at once.
export function showWork(place, signal, { brief = false, ended = () => {} } = {}) {
  let timer = 0;
  let waiting = new Set();

  async function look() {
    clearTimeout(timer);
    if (signal.aborted || !place.isConnected) return;
    let orders;
    try {
      orders = (await fetchJson("/in-hand", { signal })).content.orders;
    } catch {
      timer = setTimeout(look, 4 * EVERY_MS); // the page says elsewhere that the server does not answer
      return;
    }
    draw(orders);
    const now = new Set(orders.filter((each) => each.became === "waiting").map((each) => each.number));
    if ([...waiting].some((number) => !now.has(number) && orders.some((each) => each.number === number && each.became === "taken in"))) ended();
    waiting = now;
    if (now.size > 0) timer = setTimeout(look, document.hidden ? 5 * EVERY_MS : EVERY_MS);
  }

  const lines = new Map(); // number -> {line, words, bar, buttons, became}: kept, so that a button is not taken from under a hand
  let list = null;

  function draw(orders) {
    if (orders.length === 0) {
      place.replaceChildren();
      lines.clear();
      list = null;
      return;
    }
    if (list === null) {
      list = element("ul", { className: "work-list" });
      place.replaceChildren(element("h2", { className: brief ? "small" : "" }, "In hand"), list);
    }
    for (const [number, { line }] of lines) {
      if (orders.some((each) => each.number === number)) continue;
      line.remove();
      lines.delete(number);
    }
    for (const order of orders) {
      const known = lines.get(order.number) ?? begin(order);
      known.words.textContent = orderWords(order);
      known.bar.hidden = order.became !== "waiting";
      known.bar.value = order.overall ?? 0;
      if (known.became === order.became) continue;
      known.became = order.became;
      known.line.className = order.became === "failed" ? "failed" : "";
      known.buttons.replaceChildren(...buttonsOf(order));
    }
  }

  function begin(order) {
    const words = element("span", { className: "work-words" });
    const bar = element("progress", { max: 1, value: 0 });
    bar.setAttribute("aria-label", `${order.title}: how much is done`);
    const buttons = element("span", { className: "buttons" });
    const line = element("li", {}, element("b", {}, order.title), bar, words, buttons);
    list.append(line);
    const made = { line, words, bar, buttons, became: null };
    lines.set(order.number, made);
    return made;
  }

  function buttonsOf(order) {
    const act = (words, method, path) => {
      const button = element("button", { type: "button" }, words);
      button.setAttribute("aria-label", `${words}: ${order.title}`);
      button.addEventListener("click", async () => {
        button.disabled = true;
        await fetch(`/in-hand/${order.number}${path}`, { method, signal }).catch(() => {});
        button.disabled = false;
        look();
      });
      return button;
    };
    if (order.became === "waiting") return [act("Cancel", "DELETE", "")];
    const opens = order.slug ? [element("a", { href: `/cycles/${encodeURIComponent(order.slug)}`, className: "button main" }, "Open it")] : [];
    const again = order.became === "failed" ? [act("Try again", "POST", "/again")] : [];
    return [...opens, ...again, act("Dismiss", "DELETE", "")];
  }

  look();
  return look;
}
