// The transport beside the play button: speed, loop, click, theka, which channels, and how loud each is.
//
// It is built here, into #listening, each time a page with a sound is opened, and says at once what has changed. Everything
// has a key as well.
import { EARS, nextEar } from "../ears.mjs";
import { faster, slower } from "../preferences.mjs";
import { byId, desk, on, say } from "./desk.mjs";
import { bind } from "./keyboard.mjs";
import { endHere, inWords, loopAvartan, loopPhrase, loopSelection, loopTihai, moveEnd, toggleLoop } from "./looping.mjs";
import { besideIt, sound } from "./player.mjs";
import { prefer, preferences, whenPreferred } from "./preferred.mjs";

const LEVELS = [
  ["soundLevel", "Recording"],
  ["clickLevel", "Click"],
  ["thekaLevel", "Theka"],
];

const heard = () => sound() !== null;
let isMono = false;

const setSpeed = (speed) => prefer({ speed });
const toggle = (name) => prefer({ [name]: !preferences[name] });

function changeEar() {
  if (isMono) return say("This recording has one channel only.");
  prefer({ ear: nextEar(preferences.ear) });
  say(`Heard: ${EARS.find(({ key }) => key === preferences.ear).words}`);
}

function element(name, properties = {}, ...content) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...content);
  return made;
}

function button(id, text, title, act, label = "") {
  const made = element("button", { type: "button", id, title, textContent: text });
  if (label !== "") made.setAttribute("aria-label", label);
  made.addEventListener("click", ({ detail }) => {
    act();
    if (detail > 0) made.blur(); // after a click of the mouse, space is play and pause again
  });
  return made;
}

function group(label, ...content) {
  const made = element("div", { className: "group", role: "group" }, ...content);
  made.setAttribute("aria-label", label);
  return made;
}

function build() {
  const place = byId("listening");
  if (place === null || !heard()) return;
  const [earLabel, ear] = ears();
  place.replaceChildren(
    group(
      "Speed",
      button("slower", "\u2212", "Slower by 5 % (-)", () => setSpeed(slower(preferences.speed)), "Slower"),
      button("speed", "", "Speed; press for 100 % (0)", () => setSpeed(100)),
      button("faster", "+", "Faster by 5 % (=)", () => setSpeed(faster(preferences.speed)), "Faster"),
    ),
    button("loop", "Loop", "Play a stretch again and again (o)", toggleLoop),
    button("click", "Click", "A click on every matra, loudest on sam, low on khali (c)", () => toggle("click")),
    button("theka", "Theka", "The theka of the tala, struck under the recording (t)", () => toggle("theka")),
    group("Channels", earLabel, ear),
    element(
      "details",
      { id: "more" },
      element("summary", { textContent: "More" }),
      element("div", {}, loopParts(), levels(), closing()),
    ),
  );
  byId("more").addEventListener("keydown", escape);
  showAll();
}

// The panel lies over its own button where the window is narrow.
const closing = () => button("close-more", "Close", "Close this (Esc)", closeMore);

function escape(event) {
  if (event.key !== "Escape" || !byId("more").open) return;
  event.stopPropagation();
  closeMore();
}

function closeMore() {
  byId("more").open = false;
  byId("more").firstElementChild.focus();
}

function ears() {
  const ear = element("select", { id: "ear", title: "Which channels are heard (e)" });
  ear.append(...EARS.map(({ key, words }) => element("option", { value: key, textContent: key, title: words })));
  ear.addEventListener("change", () => prefer({ ear: ear.value }));
  return [element("label", { htmlFor: "ear", textContent: "Hear" }), ear];
}

function loopParts() {
  const end = (name, words) =>
    group(
      `Where the loop ${words}`,
      element("span", { textContent: words }),
      button("", "\u2039", "A matra earlier", () => moveEnd(name, -1), `Loop ${words} a matra earlier`),
      button("", "\u203a", "A matra later", () => moveEnd(name, 1), `Loop ${words} a matra later`),
      button("", "here", "On the matra nearest to what is heard", () => endHere(name), `Loop ${words} here`),
    );
  return element(
    "section",
    {},
    element("h3", { textContent: "Loop" }),
    element("p", { id: "loop-words" }),
    group(
      "Loop what",
      button("loop-avartan", "Avartan", "From sam to sam; again: one avartan more", loopAvartan),
      button("loop-tihai", "Tihai", "The tihai here, from its first palla to after its landing (h)", loopTihai),
      button("loop-phrase", "Phrase", "The phrase here (r)", loopPhrase),
      button("loop-selection", "Selection", "What is selected on the page (o)", loopSelection),
    ),
    end("from_s", "begins"),
    end("to_s", "ends"),
  );
}

function levels() {
  const rows = LEVELS.map(([name, words]) => {
    const range = element("input", { type: "range", id: name, min: 0, max: 1, step: 0.05, value: preferences[name] });
    range.addEventListener("input", () => prefer({ [name]: Number(range.value) }));
    return element("div", { className: "level" }, element("label", { htmlFor: name, textContent: words }), range);
  });
  return element("section", {}, element("h3", { textContent: "How loud" }), ...rows);
}

function showAll() {
  if (byId("speed") === null) return;
  byId("speed").textContent = `${preferences.speed} %`;
  byId("speed").setAttribute("aria-label", `Speed ${preferences.speed} percent; press for 100`);
  byId("slower").disabled = slower(preferences.speed) === preferences.speed;
  byId("faster").disabled = preferences.speed === 100;
  for (const name of ["click", "theka"]) byId(name).setAttribute("aria-pressed", String(preferences[name]));
  if (!isMono) byId("ear").value = preferences.ear;
  for (const [name] of LEVELS) byId(name).value = preferences[name];
  showLoop();
}

function showLoop() {
  if (byId("loop") === null) return;
  const { loop, selection } = desk;
  byId("loop").setAttribute("aria-pressed", String(loop?.on === true));
  byId("loop-words").textContent = loop === null ? "Nothing is looped yet." : inWords(loop);
  byId("loop-selection").disabled = selection === null;
}

async function learnChannels() {
  const { slug } = desk.data;
  const { channels } = await besideIt();
  if (desk.data.slug !== slug) return;
  isMono = channels === 1;
  if (!isMono || byId("ear") === null) return;
  byId("ear").replaceChildren(element("option", { textContent: "one channel" }));
  Object.assign(byId("ear"), { disabled: true, title: "This recording has one channel only" });
}

on("opened", () => {
  isMono = false;
  build();
  if (heard()) learnChannels();
});
on("looped", showLoop);
on("selected", showLoop);
whenPreferred(showAll);

bind("Listen", [
  { key: "-", words: "slower, at the same pitch", act: () => setSpeed(slower(preferences.speed)), when: heard },
  { key: ["=", "+"], words: "faster", act: () => setSpeed(faster(preferences.speed)), when: heard },
  { key: "0", words: "at full speed", act: () => setSpeed(100), when: heard },
  { key: "c", words: "a click on every matra, loudest on sam, low on khali", act: () => toggle("click"), when: heard },
  { key: "t", words: "the theka under it", act: () => toggle("theka"), when: heard },
  { key: "e", words: "both channels, left, right, mid, side", act: changeEar, when: heard },
]);
