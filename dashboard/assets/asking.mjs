// The choices of the page on which tihais are composed, as an address holds them.
//
// Conventions: choices are [name, value] pairs as a form gives them; an empty value leaves a choice out. The server writes the
// address anew without what is as usual, and its answer counts.

export const PIECE = ["at", "plays", "gap", "lead", "between"];
const OF_A_PIECE = [...PIECE, "into", "ratio", "kept"];

// The search of an address with some choices changed.
export function changed(search, pairs) {
  const choices = new URLSearchParams(search);
  for (const [name, value] of pairs) {
    if (value.trim() === "") choices.delete(name);
    else choices.set(name, value.trim());
  }
  return choices.toString();
}

// What the form asks for in place of what an address does. A piece that is opened stays so unless the tala is another one.
export function asking(search, pairs) {
  const before = new URLSearchParams(search);
  const next = changed(search, pairs);
  if ((before.get("tala") ?? "teental") === (new URLSearchParams(next).get("tala") ?? "teental")) return next;
  return changed(next, OF_A_PIECE.map((name) => [name, ""]));
}

// The key before or after one in a list, going round at neither end; the first where none of them is the current one.
export function neighbour(keys, current, way) {
  if (keys.length === 0) return null;
  const at = keys.indexOf(current);
  if (at < 0) return keys[way > 0 ? 0 : keys.length - 1];
  return keys[Math.min(Math.max(at + way, 0), keys.length - 1)];
}

// Whether a text has all that is looked for, with commas between: "dam 1, bedam". A number is a whole one: 1 is not found in 12.
export function has(text, wanted) {
  const folded = text.toLowerCase().replace(/\s+/g, " ");
  const terms = wanted.toLowerCase().split(",").map((term) => term.trim().replace(/\s+/g, " ")).filter((term) => term !== "");
  return terms.every((term) => {
    for (let at = folded.indexOf(term); at >= 0; at = folded.indexOf(term, at + 1)) {
      if (!/\d/.test(term.at(-1)) || !/[\d/]/.test(folded.charAt(at + term.length))) return true;
    }
    return false;
  });
}
