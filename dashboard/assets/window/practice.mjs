// The page of sums: its choices, one question at a time, the answer marked at once, and a tally at the end of the run.
//
// The address holds all choices; the server answers an address and the number of a question with what is shown
// (dashboard/practice/routes.py). How a run goes is known here alone, and gone when the page is left.
import { changed } from "../asking.mjs";
import { answerOf, choicesOf, tallied, tallyWords } from "../practice.mjs";
import { drawnRun, unpacked } from "../run.mjs";
import { begin, end, isRunning } from "./taking.mjs";

const TYPED_MS = 300;
const NARROW = 640; // px

const byId = (id) => document.getElementById(id);
const page = () => byId("practice");
const isHere = () => page() !== null && location.pathname === "/practice";

let run = { at: 1, count: 0, results: [] };
let asked = 0;
let timer = 0;

const PARTS = [
  '<details class="options" id="options" open><summary>What to practise</summary><div id="practice-form"></div></details>',
  '<p id="practice-said" role="status"></p>',
  '<p id="practice-tally" class="tally" role="status"></p>',
  '<div id="practice-question"></div>',
  '<p class="hint" id="practice-print"><a id="practice-sheet" href="/practice/sheet.html" download>Take these questions home</a>, as a page to print with the answers apart.</p>',
].join("");

// Called by Dash (start.js) when the page is put in.
export async function show() {
  if (!isHere()) return "";
  if (page().childElementCount === 0) {
    page().innerHTML = PARTS;
    if (innerWidth < NARROW) byId("options").open = false; // the question comes first
  }
  run = { at: 1, count: 0, results: [] };
  await answer(location.search);
  return location.search;
}

const choices = (search = location.search) => search.replace(/^\?/, "");
const write = (id, words) => byId(id) && byId(id).textContent !== words && (byId(id).textContent = words);
const say = (words) => write("practice-said", words);

async function fetched(address) {
  try {
    return await (await fetch(address, { cache: "no-store" })).json();
  } catch {
    return { error: "The server does not answer. Is it still running?" };
  }
}

// Ask for the question of an address; `push` makes it a step back, false rewrites the address; `kept` leaves the form alone.
async function answer(search, { push = null, kept = false } = {}) {
  const number = ++asked;
  end();
  const told = await fetched(`/practice/asked?${choices(search)}&at=${run.at}`);
  if (number !== asked || !isHere()) return;
  if (told.error) return void say(told.error);
  say("");
  if (push !== null) history[push ? "pushState" : "replaceState"]({}, "", told.address);
  if (!kept || byId("ask") === null) put(byId("practice-form"), told.form);
  tellWrong(told.wrong);
  run.count = told.count;
  byId("practice-sheet").href = told.sheet;
  byId("practice-print").hidden = told.count === 0;
  byId("practice-question").innerHTML = told.question;
  tally();
}

// Put the form in anew; what has the focus keeps it.
function put(element, markup) {
  const field = element.contains(document.activeElement) ? document.activeElement : null;
  const at = field && { id: field.id, name: field.name, value: field.value };
  element.innerHTML = markup;
  if (at) (at.id ? byId(at.id) : element.querySelector(`[name="${at.name}"][value="${at.value}"]`))?.focus({ preventScroll: true });
}

function tellWrong(wrong) {
  if (Object.keys(wrong).length > 0) byId("options").open = true;
  for (const place of byId("practice-form").querySelectorAll(".wrong")) {
    const message = wrong[place.id.replace("wrong-", "")] ?? "";
    place.textContent = message;
    place.hidden = message === "";
  }
  for (const field of byId("practice-form").querySelectorAll("[name]")) field.setAttribute("aria-invalid", String(field.name in wrong));
}

const tally = () => write("practice-tally", tallyWords(tallied(run.results, run.count)));

async function mark(form) {
  const place = form.querySelector("[name=place]:checked")?.value ?? null;
  const wanted = answerOf(byId("answer-typed").value, place);
  if (wanted === null) return wrongAnswer("Write an answer, or choose a place on the cycle.");
  const told = await fetched(`/practice/marked?${choices()}&at=${run.at}&${new URLSearchParams(wanted)}`);
  if (!isHere()) return;
  if (told.error) return wrongAnswer(told.error);
  wrongAnswer("");
  run.results[run.at - 1] ??= { kind: told.kind, right: told.right }; // the first answer counts
  byId("marked").innerHTML = told.marked;
  form.querySelector("button[type=submit]").textContent = "Answer again";
  if (run.at === run.count) byId("next").textContent = "See how it went";
  draw();
  tally();
  byId("next").focus();
}

function wrongAnswer(message) {
  byId("answer-wrong").textContent = message;
  byId("answer-wrong").hidden = message === "";
  byId("answer-typed").setAttribute("aria-invalid", String(message !== ""));
}

function draw() {
  const region = byId("run");
  if (region !== null) region.innerHTML = drawnRun(unpacked(JSON.parse(region.dataset.run)), region.clientWidth).markup;
}

async function goOn() {
  if (run.at >= run.count) return finish();
  run.at += 1;
  await answer(location.search, { kept: true });
  byId("answer-typed")?.focus({ preventScroll: true });
  byId("practice-question").scrollIntoView({ block: "nearest" });
}

// The tally of the run, kind by kind.
function finish() {
  end();
  const { right, answered, kinds } = tallied(run.results, run.count);
  const region = byId("practice-question");
  region.innerHTML =
    '<article class="exercise"><h2 id="exercise-heading" tabindex="-1"></h2><ul class="outcome"></ul>' +
    '<p class="hint">It is told here alone: nothing about your answers is kept.</p>' +
    '<p class="after"><button type="button" id="another" class="main">Other questions</button> <button type="button" id="again">The same again</button></p></article>';
  write("exercise-heading", `${right} of ${answered} right`);
  const names = Object.fromEntries([...byId("ask").querySelectorAll("[name=kinds]")].map((box) => [box.value, box.parentElement.textContent.trim()]));
  const rows = kinds.map((told) => `${names[told.kind] ?? told.kind}: ${told.right} of ${told.answered}`);
  region.querySelector("ul").replaceChildren(...rows.map((words) => Object.assign(document.createElement("li"), { textContent: words })));
  byId("exercise-heading").focus();
}

async function startAgain(search, push) {
  run = { at: 1, count: 0, results: [] };
  await answer(search, { push });
  byId("answer-typed")?.focus({ preventScroll: true });
}

async function hear(button) {
  if (isRunning()) return silence();
  const score = await fetched(button.dataset.score);
  if (score.error) return void say(score.error);
  const told = JSON.parse(byId("run").dataset.run);
  button.setAttribute("aria-pressed", "true");
  button.textContent = "Stop";
  try {
    const take = { kind: "paper", score, talas: told.talas, tala: told.tala };
    await begin(take, { laya: Number(button.dataset.laya), under: "theka" }, silence);
    watch();
  } catch (error) {
    silence();
    say(error.message === "held back" ? "The browser holds the sound back: press the button once more." : `It cannot be heard: ${error.message}`);
  }
}

// What sounds ends when another page is turned to.
function watch() {
  if (!isRunning()) return;
  if (isHere()) requestAnimationFrame(watch);
  else end();
}

function silence() {
  end();
  const button = byId("heard-it");
  if (button === null) return;
  button.setAttribute("aria-pressed", "false");
  button.textContent = "Hear it";
}

// -- what people do -----------------------------------------------------------------------------------------------------

function chose({ target, type }) {
  if (!isHere() || !page().contains(target)) return;
  if (target.name === "place" && type === "change") return chosePlace(target);
  if (target.id === "answer-typed" && type === "input") return typedAnswer();
  if (target.form?.id !== "ask") return;
  const isTyped = target.matches("input:not([type=radio]):not([type=checkbox])");
  if (isTyped !== (type === "input")) return;
  clearTimeout(timer);
  timer = setTimeout(asks, isTyped ? TYPED_MS : 0, target, isTyped);
}

function asks(target, isTyped) {
  const pairs = choicesOf([...new FormData(target.form)]);
  const kinds = pairs.some(([name]) => name === "kinds") ? [] : [["kinds", ","]]; // none is ticked: it is told
  const search = `?${changed("", [...pairs, ...kinds])}`;
  run = { at: 1, count: 0, results: [] };
  answer(search, { push: !isTyped, kept: isTyped });
}

function chosePlace(radio) {
  byId("answer-typed").value = "";
  byId("answer-typed").placeholder = radio.getAttribute("aria-label").split(",")[0];
}

function typedAnswer() {
  const chosen = page().querySelector("[name=place]:checked");
  if (chosen !== null) chosen.checked = false;
  byId("answer-typed").placeholder = "";
}

function clicked({ target }) {
  if (!isHere()) return;
  const button = target.closest?.("button");
  if (button?.id === "next") goOn();
  if (button?.id === "heard-it") hear(button);
  if (button?.id === "again") startAgain(location.search, null);
  if (button?.id === "another") {
    const seed = Number(new URLSearchParams(location.search).get("seed") ?? 1) + 1;
    startAgain(`?${changed(location.search, [["seed", String(seed)]])}`, true);
  }
}

function submitted(event) {
  if (!isHere() || !page().contains(event.target)) return;
  event.preventDefault();
  if (event.target.id === "answer") mark(event.target);
}

document.addEventListener("input", chose);
document.addEventListener("change", chose);
document.addEventListener("click", clicked);
document.addEventListener("submit", submitted);
addEventListener("popstate", () => isHere() && page().childElementCount > 0 && startAgain(location.search, null));
addEventListener("resize", () => isHere() && draw());
