// Courses: orders that are changed by steps, and what is kept of a form that was not saved.

// An order in which one of its items stands some steps farther; at the ends it stays.
export function moved(order, item, steps) {
  const from = order.indexOf(item);
  if (from < 0) return order;
  const others = order.filter((each) => each !== item);
  others.splice(Math.min(Math.max(from + steps, 0), others.length), 0, item);
  return others;
}

// Whether a form holds something else than what was saved. Both are {title, notes, pieces}.
export function differs(one, other) {
  const same = one.title === other.title && one.notes === other.notes && one.pieces.length === other.pieces.length;
  return !same || one.pieces.some((piece, place) => piece !== other.pieces[place]);
}

// What was kept of a form, {title, notes, pieces, seen}, or null where it cannot be read.
export function keptOf(text) {
  try {
    const told = JSON.parse(text);
    const right =
      typeof told.title === "string" && typeof told.notes === "string" && Number.isInteger(told.seen) &&
      Array.isArray(told.pieces) && told.pieces.every((piece) => typeof piece === "string");
    return right ? told : null;
  } catch {
    return null;
  }
}

// Under which name a form is kept until it is saved.
export const keptAs = (course, chapter) => `layakosh course ${course} ${chapter}`;
