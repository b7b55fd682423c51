// Going about: by keys matra by matra, avartan by avartan, by a click on a line; closer and farther, folded or straight on.
import { stepColumns, stepRows } from "../fold.mjs";
import { STEPS, stepSaid } from "../lines.mjs";
import { byId, desk, on, write } from "./desk.mjs";
import { isStraight, reach, setReach } from "./folded.mjs";
import { bind } from "./keyboard.mjs";
import { go, here } from "./over.mjs";

const step = (move, count) => () => go(move(desk.data.rows, here(), count));
const reachBy = (steps) => () => show({ step: reach() + steps });
const unfold = () => show({ straight: !isStraight() });
const page = (share) => () => desk.region.scrollBy({ top: share * desk.region.clientHeight });

function show(wanted) {
  setReach(wanted, here());
  sayReach();
}

function sayReach() {
  write("reach", stepSaid(reach(), isStraight()));
  byId("farther")?.toggleAttribute("disabled", reach() === 0);
  byId("closer")?.toggleAttribute("disabled", reach() === STEPS.length - 1);
  byId("unfold")?.setAttribute("aria-pressed", String(isStraight()));
}

on("opened", () => {
  const { signal } = desk;
  const press = (id, act) => byId(id)?.addEventListener("click", act, { signal });
  press("closer", reachBy(1));
  press("farther", reachBy(-1));
  press("unfold", unfold);
  sayReach();
});

bind("Go", [
  { key: ["ArrowLeft", "ArrowRight"], words: "a matra back, a matra on", act: (key) => step(stepColumns, key.endsWith("Left") ? -1 : 1)() },
  { key: ["Shift+ArrowLeft", "Shift+ArrowRight"], words: "an avartan back, an avartan on", act: (key) => step(stepRows, key.endsWith("Left") ? -1 : 1)() },
  { key: ["Home", "End"], words: "to the beginning, to the last avartan", act: (key) => go(key === "Home" ? 0 : desk.data.rows.at(-1).t[0]) },
  { key: ["PageUp", "PageDown"], words: "scroll a page", act: (key) => page(key === "PageUp" ? -0.85 : 0.85)() },
]);
bind("Look", [
  { key: ["z", "x"], words: "closer (down to a matra), farther", act: (key) => reachBy(key === "z" ? 1 : -1)() },
  { key: "u", words: "unfold: time runs straight on; fold again", act: unfold },
]);
