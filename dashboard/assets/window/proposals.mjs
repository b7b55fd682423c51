// The page of proposals: the list, the one that is open with its rows and sound, accepting and rejecting by a key.
//
// The list is asked for again now and then, so that what others decide, or a run that ends, is seen (304 when nothing is new).
import { SHOWN_AT_FIRST, beside, countWords, following, runWords, shownOf } from "../proposals.mjs";
import { unpack } from "../outline.mjs";
import { countIn } from "./counting.mjs";
import { byId, desk, open as openDesk, say, select, tell } from "./desk.mjs";
import { fetchJson } from "./fetching.mjs";
import { bind } from "./keyboard.mjs";
import "./main.mjs";
import { button, make, tellIn } from "./making.mjs";
import { isPlaying, pause, play, seek, sound } from "./player.mjs";
import { isPlain, turnFrom } from "./turning.mjs";

const EVERY_MS = 2000;
const WHILE_LOOKING_MS = 700;

let page = null; // {slug, region, signal, tag, content, asked: {status, order}, open, opened, toldAs, most, timer, busy}

// Called by Dash (start.js) when the page is put in.
export function show(told) {
  const region = byId("proposals");
  if (!told || !region) return "";
  page?.ending.abort();
  const ending = new AbortController();
  page = {
    slug: told.slug, region, ending, signal: ending.signal, tag: null, content: null,
    asked: { status: "waiting", order: "likeliest" }, open: told.open || null, opened: null, most: SHOWN_AT_FIRST, timer: 0, busy: false,
  };
  for (const part of ["proposals-state", "proposal-head", "proposal-told"]) turnFrom(byId(part));
  document.addEventListener("visibilitychange", () => !document.hidden && look(), { signal: page.signal });
  look();
  return told.slug;
}

const isHere = () => page !== null && page.region.isConnected;
const place = (what) => `/proposed/${encodeURIComponent(page.slug)}${what === "" ? "" : `/${what}`}`;
const addressOf = (key) => `/proposals/${encodeURIComponent(page.slug)}?open=${encodeURIComponent(key)}`;
const shown = () => shownOf(page.content?.proposals ?? [], page.asked, page.open);
const chosen = () => page.content?.proposals.find(({ key }) => key === page.open) ?? null;
const canDecide = () => isHere() && page.content?.mayEdit === true && page.opened !== null && !page.busy;

// Ask for the list, and again after a while.
async function look() {
  const mine = page;
  clearTimeout(mine.timer);
  if (!isHere()) return;
  try {
    const answer = await fetchJson(place(""), { known: mine.tag, signal: mine.signal });
    if (mine !== page) return;
    if (answer !== null) {
      const wasLooking = mine.content?.run && !mine.content.run.failed;
      Object.assign(mine, { tag: answer.tag, content: answer.content });
      if (wasLooking && !answer.content.run) mine.opened = null; // what is there is new
      draw();
    }
  } catch (error) {
    if (error.name === "AbortError") return;
    say(error.message);
  }
  const isLooking = mine.content?.run && !mine.content.run.failed;
  if (mine === page && isHere()) mine.timer = setTimeout(look, isLooking ? WHILE_LOOKING_MS : document.hidden ? 5 * EVERY_MS : EVERY_MS);
}

function draw() {
  const list = shown();
  if (chosen() === null) page.open = (list.find(({ status }) => status === "waiting") ?? list[0])?.key ?? null;
  drawState();
  drawChoices();
  drawList();
  byId("proposal").hidden = page.open === null;
  if (page.open === null) return;
  if (page.opened?.key !== page.open) return void openOne(page.open);
  drawHead();
  if (page.toldAs !== chosen().status) drawTold(); // else what is being written stays
}

// What is known of them all: whether anybody looked, a run and how far it is, what has changed since, what was learnt.
function drawState() {
  const { looked, stale, run, mayEdit, learnt, mukhras, proposals } = page.content;
  const parts = [];
  if (run?.failed) parts.push(make("div", { className: "told wrong", role: "alert" }, make("p", {}, `✕ ${plain(run.failed)}`)));
  if (run && !run.failed) {
    const bar = make("progress", { max: 1, value: run.share ?? 0, "aria-label": "How much is looked through" });
    parts.push(make("p", { className: "looking", role: "status" }, bar, " ", runWords(run)));
  } else if (!looked) {
    parts.push(make("div", { className: "empty" }, make("h2", {}, "Nobody has looked for tihais here yet"),
      make("p", {}, "What is played three times so that it lands is looked for in what was heard. It takes some seconds for each ten minutes."),
      make("p", {}, mayEdit ? button("Look for tihais", () => begin({}), { className: "main" }) : "Whoever may edit this archive can let them be looked for.")));
  } else {
    if (stale) {
      parts.push(make("div", { className: "told" }, make("p", {}, "Sams, sections or what was heard have changed since these were found. Where the grid moved they cannot be accepted. ",
        mayEdit ? button("Look again", () => begin({})) : null)));
    }
    if (proposals.length === 0) {
      parts.push(make("div", { className: "empty" }, make("h2", {}, "No tihai was found"),
        make("p", {}, "Nothing here is played three times and lands. If you hear one, mark it on the ", make("a", { href: `/cycles/${encodeURIComponent(page.slug)}` }, "page of cycles"), ".")));
    } else {
      parts.push(make("p", { className: "proposals-count" }, make("b", {}, countWords(proposals)), " · ", make("a", { href: "/learnt" }, learnt)));
      if (!proposals.some(({ status }) => status === "waiting")) {
        parts.push(make("p", {}, "All of them are decided. ", make("a", { href: `/tihais?recording=${encodeURIComponent(page.slug)}` }, "See the tihais of this performance"), "."));
      }
    }
    if (mayEdit) parts.push(again(mukhras));
  }
  const box = byId("proposals-state");
  const wasOpen = box.querySelector("details")?.open === true;
  const typed = box.querySelector("input")?.value ?? "";
  const focused = box.contains(document.activeElement) ? document.activeElement.id : "";
  box.replaceChildren(...parts);
  if (box.querySelector("details")) Object.assign(box.querySelector("details"), { open: wasOpen });
  if (box.querySelector("input")) box.querySelector("input").value = typed;
  if (focused) byId(focused)?.focus();
}

// Commands have no place on a page.
const plain = (message) => message.replace(/:?\s*layakosh [^\n]*/g, ".");

function again(mukhras) {
  const known = mukhras.map(({ words }) => words).join("; ");
  return make("details", {}, make("summary", {}, "Look again"),
    make("form", { className: "look-again", onsubmit: (event) => (event.preventDefault(), begin({ anew: true, mukhra: byId("mukhra").value })) },
      make("label", { htmlFor: "mukhra" }, "The mukhra begins on matra"),
      make("input", { id: "mukhra", type: "number", min: 1, max: 255, inputMode: "numeric" }),
      make("button", { type: "submit" }, "Look at everything again"),
      make("p", { className: "quiet" }, known === "" ? "Left empty, it is listened for." : `As heard: ${known}. Left empty, it is listened for again.`)));
}

async function begin({ anew = false, mukhra = "" }) {
  try {
    await post("look", { anew, mukhra: mukhra === "" ? null : Number(mukhra) });
    page.tag = null;
    await look();
  } catch (error) {
    say(error.message);
  }
}

function drawChoices() {
  const box = byId("proposals-choices");
  box.hidden = page.content.proposals.length === 0;
  if (box.childElementCount > 0) return;
  const choice = (name, label, options) => make("label", {}, `${label} `, make("select", {
    id: `proposals-${name}`,
    onchange: ({ target }) => {
      page.asked = { ...page.asked, [name]: target.value };
      draw();
    },
  }, options.map(([value, text]) => make("option", { value }, text))));
  box.replaceChildren(choice("status", "Show", [["waiting", "those that wait"], ["all", "all"]]), choice("order", "Order", [["likeliest", "likeliest first"], ["time", "as played"]]));
}

const SIGN = { accepted: "✓", rejected: "✕", waiting: "" };

function drawList() {
  const list = shown();
  const at = list.findIndex(({ key }) => key === page.open);
  page.most = Math.max(page.most, at + 1);
  const box = byId("proposals-list");
  const focused = box.contains(document.activeElement) ? document.activeElement.dataset.key : undefined;
  const items = list.slice(0, page.most).map((each) => make("li", {}, make("a", {
    href: addressOf(each.key), className: `proposals-item ${each.status}`, "data-key": each.key, "aria-current": each.key === page.open ? "true" : null,
    onclick: (event) => isPlain(event) && (event.preventDefault(), goTo(each.key)),
  },
  make("span", { className: "proposals-when" }, each.clock),
  make("span", { className: "proposals-what" }, `${each.kind}, ${each.by}`, make("small", {}, `${each.place}, ${each.lands}`)),
  make("span", { className: "proposals-sure" },
    each.status === "waiting" ? make("span", { className: "signs", "aria-hidden": "true" }, each.signs) : `${SIGN[each.status]} ${each.status}`,
    make("small", {}, each.status === "waiting" ? `${each.sure} %` : each.tihai)))));
  if (list.length > page.most) {
    items.push(make("li", {}, button(`Show ${Math.min(SHOWN_AT_FIRST, list.length - page.most)} more of ${list.length}`, () => {
      page.most += SHOWN_AT_FIRST;
      drawList();
    })));
  }
  box.replaceChildren(...items);
  if (focused !== undefined) box.querySelector(`[data-key="${CSS.escape(focused)}"]`)?.focus({ preventScroll: true });
}

function goTo(key) {
  if (key === null || key === page.open) return;
  page.open = key;
  history.replaceState(history.state, "", addressOf(key));
  draw();
  const list = byId("proposals-list");
  const item = list.querySelector("[aria-current]");
  if (item && list.scrollHeight > list.clientHeight) item.scrollIntoView({ block: "nearest" }); // else the window would scroll
  const { top } = byId("proposal").getBoundingClientRect();
  if (top < 0 || top > innerHeight / 2) byId("proposal").scrollIntoView({ block: "start" });
}

// Fetch the one that is open and put its rows in; if something was playing, it plays on with this one.
async function openOne(key) {
  const mine = page;
  mine.opened = null;
  const played = isPlaying();
  if (played) pause();
  drawHead();
  try {
    const { content } = await fetchJson(place(encodeURIComponent(key)), { signal: mine.signal });
    if (mine !== page || mine.open !== key) return;
    mine.opened = content;
    const region = byId("fold");
    openDesk(unpack(content.passage), region);
    region.scrollTop = 0;
    select();
    const { passage } = desk.data;
    desk.loop = desk.loop?.on ? { ...passage, words: "the passage", on: true } : null; // who loops one wants to loop the next
    tell("looped");
    if (sound() !== null) seek(passage.from_s);
    drawHead();
    drawTold();
    if (played) play();
  } catch (error) {
    if (error.name !== "AbortError" && mine === page) say(error.message);
  }
}

function drawHead() {
  const each = chosen();
  const { mayEdit } = page.content;
  const list = shown();
  const at = list.findIndex(({ key }) => key === each.key);
  const decided = each.status === "waiting" ? null : make("p", { className: `decided ${each.status}` }, `${SIGN[each.status]} ${each.status} as `,
    make("a", { href: `/tihais/${encodeURIComponent(page.slug)}/${encodeURIComponent(each.tihai)}` }, `tihai ${each.tihai}`));
  const heard = each.heard === each.sure ? "" : ` (${each.heard} % as heard alone)`;
  const act = (words, key, does, properties = {}) => make("button", { type: "button", onclick: does, disabled: page.busy, ...properties }, words, " ", make("kbd", { "aria-hidden": "true" }, key));
  const before = document.activeElement;
  const head = byId("proposal-head");
  const focused = head.contains(before) ? before.id || "proposal-title" : "";
  head.replaceChildren(
    make("h2", { tabIndex: -1 }, `${each.kind[0].toUpperCase()}${each.kind.slice(1)} at ${each.clock}, ${each.lands}`),
    make("p", { className: "proposal-sure" }, make("span", { className: "signs", "aria-hidden": "true" }, each.signs), " ", make("b", {}, `${each.sureWords}, ${each.sure} %`), `${heard} · from ${each.place} to ${each.landsClock} · played by ${each.by}`),
    decided ?? "",
    make("div", { className: "decide" },
      mayEdit && each.status === "waiting" ? act("Accept", "y", () => decide("accept"), { id: "accept", className: "main" }) : "",
      mayEdit && each.status === "rejected" ? act("Accept after all", "y", () => decide("accept"), { id: "accept" }) : "",
      mayEdit && each.status === "waiting" ? act("Reject", "n", () => decide("reject"), { id: "reject" }) : "",
      mayEdit ? button("Undo", () => takeBack("undo"), { id: "undo-decision", title: "Take back your latest edit (Ctrl+Z)" }) : make("span", { className: "quiet" }, "You look and listen; whoever may edit decides."),
      make("span", { className: "proposal-steps" },
        button("Before", () => step(-1), { id: "proposal-before", disabled: at <= 0, title: "The one before (arrow up)" }), ` ${at + 1} of ${list.length} `,
        button("Next", () => step(1), { id: "proposal-next", disabled: at >= list.length - 1, title: "The next one (arrow down)" }))));
  // what decided is not left under the hand: a space bar that is to play would decide on the next one
  if (focused) (DECIDING.includes(focused) ? head.querySelector("h2") : (byId(focused) ?? head.querySelector("h2"))).focus({ preventScroll: true });
}

const DECIDING = ["accept", "reject"];

// The sum, why it is proposed, and the palla to be written over before it is accepted.
function drawTold() {
  const each = chosen();
  const { lines, typed } = page.opened;
  page.toldAs = each.status;
  const isWaiting = page.content.mayEdit && each.status !== "accepted";
  const palla = make("input", { id: "proposal-palla", type: "text", value: each.text, autocomplete: "off", spellcheck: false, oninput: ({ target }) => countIn("proposal-count", { of: "tihai", palla: target.value, ...typed }) });
  byId("proposal-told").replaceChildren(...[
    page.opened.sum ? make("p", { className: "taught-sum" }, page.opened.sum) : null,
    make("p", { className: "quiet" }, `${each.counts}. ${lines.at(-1)}`),
    make("p", { className: "reason" }, each.reason),
    each.reading ? make("p", { className: "reason" }, each.reading) : null,
    isWaiting
      ? make("form", { className: "proposal-form", onsubmit: (event) => (event.preventDefault(), decide("accept")) },
        make("label", { htmlFor: "proposal-palla" }, "The palla, a draft: correct it by ear if you like, then accept"), palla, make("div", { id: "proposal-count", role: "status" }))
      : make("p", {}, "Palla, as drafted: ", make("span", { className: "notation" }, each.text)),
    make("details", {}, make("summary", {}, "Step by step"), make("ol", { className: "sum" }, lines.slice(0, -1).map((line) => make("li", {}, line)))),
    make("p", {}, make("a", { href: `/cycles/${encodeURIComponent(page.slug)}?at=${Math.max(each.at_s - 1.5, 0).toFixed(3)}` }, "See it on the page of cycles")),
  ].filter((part) => part !== null));
}

async function post(what, told) {
  let response;
  try {
    response = await fetch(place(what), { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(told) });
  } catch (error) {
    throw new Error("The server does not answer, so nothing was saved. Is it still running?", { cause: error });
  }
  const content = await response.json().catch(() => null);
  if (!response.ok || content === null) throw new Error(content?.error ?? `The server answered ${response.status}; nothing was saved.`);
  return content;
}

async function decide(what) {
  const each = chosen();
  if (!canDecide() || each === null || each.status === "accepted" || (what === "reject" && each.status !== "waiting")) return;
  const typed = byId("proposal-palla")?.value.trim() ?? "";
  const next = following(shown(), each.key)?.key ?? null;
  await changing(async () => {
    const { said } = await post(what, { key: each.key, ...(what === "accept" && typed !== each.text ? { palla: typed } : {}) });
    say(said);
    if (next !== null) goTo(next);
  });
}

// Take the latest edit back, or do it again, and go to the proposal that it was of.
async function takeBack(kind) {
  let before = new Map();
  await changing(async () => {
    before = new Map(page.content.proposals.map(({ key, status }) => [key, status]));
    say((await post(kind, {})).said);
  });
  const changed = page.content.proposals.find(({ key, status }) => before.has(key) && before.get(key) !== status);
  if (changed) goTo(changed.key);
}

let latest = Promise.resolve();

// One change after the other, each followed by the list as it is then.
function changing(change) {
  latest = latest.then(async () => {
    page.busy = true;
    try {
      await change();
    } catch (error) {
      say(error.message.split("\n")[0]);
      if (byId("proposal-count")) tellIn(byId("proposal-count"), error.message, "wrong");
    }
    page.tag = null;
    await look();
    page.busy = false;
    if (isHere() && chosen() !== null) drawHead();
  });
  return latest;
}

const step = (by) => goTo(beside(shown(), page.open, by)?.key ?? null);

bind("Decide", [
  { key: "y", words: "accept it: a tihai, with the palla as it is written", act: () => decide("accept"), when: canDecide, once: true },
  { key: "n", words: "reject it: not a tihai", act: () => decide("reject"), when: canDecide, once: true },
  { key: ["ArrowUp", "ArrowDown"], words: "the proposal before, the next one", act: (key) => step(key === "ArrowUp" ? -1 : 1), when: () => isHere() && page.content !== null },
  { key: "Ctrl+z", words: "take your latest edit back", act: () => takeBack("undo"), when: () => isHere() && page.content?.mayEdit === true },
  { key: ["Ctrl+Shift+z", "Ctrl+y"], words: "do it again", act: () => takeBack("redo"), when: () => isHere() && page.content?.mayEdit === true },
]);
