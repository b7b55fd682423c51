// Matras, sum and bars of what is being typed, counted by the server (one count for the page and for what is saved), as soon as
// the hand rests for a moment. Of several answers on their way the last one asked for counts.
import { byId, desk } from "./desk.mjs";
import { fetchJson } from "./fetching.mjs";
import { tellIn } from "./making.mjs";
import { placeOf } from "./posting.mjs";

const REST_MS = 100;

const asked = new Map(); // id of the box -> number of the last question
const timers = new Map();

export function countIn(id, typed) {
  clearTimeout(timers.get(id));
  const number = (asked.get(id) ?? 0) + 1;
  asked.set(id, number);
  if ((typed.palla ?? typed.swaras ?? "").trim() === "") return tellIn(byId(id), []);
  timers.set(id, setTimeout(async () => {
    const filled = Object.entries(typed).filter(([, text]) => text !== undefined && text !== "");
    try {
      const { content } = await fetchJson(`${placeOf("count")}?${new URLSearchParams(filled)}`, { signal: desk.signal });
      if (asked.get(id) === number) tellIn(byId(id), content.lines, content.kind);
    } catch (error) {
      if (error.name !== "AbortError" && asked.get(id) === number) tellIn(byId(id), error.message, "wrong");
    }
  }, REST_MS));
}
