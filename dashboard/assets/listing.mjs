// What the list of performances is asked for, as an address holds it. Choices are [name, value] pairs as a form gives them.

const CHOSEN = ["find", "raga", "tala", "musician", "year", "needs"];

// The search of an address in which the choices of a form take the place of those that stood there; the order stays, and the
// list begins at its top.
export function chosen(search, pairs) {
  const next = new URLSearchParams(search);
  next.delete("from");
  for (const name of CHOSEN) next.delete(name);
  for (const [name, value] of pairs) {
    if (CHOSEN.includes(name) && value.trim() !== "") next.set(name, value.trim());
  }
  return next.toString();
}

// What the form shows for an address, by name.
export function choicesIn(search) {
  const told = new URLSearchParams(search);
  return Object.fromEntries(CHOSEN.map((name) => [name, told.get(name) ?? ""]));
}
