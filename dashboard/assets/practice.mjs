// A run of questions: what the form asks for, and the tally at its end. Nothing of it is kept.

// The choices of a form as an address holds them: those of one name that are ticked become one, with commas.
export function choicesOf(pairs) {
  const told = new Map();
  for (const [name, value] of pairs) told.set(name, told.has(name) ? `${told.get(name)},${value}` : value);
  return [...told];
}

// The answer to a question as it is sent: what is typed counts before what is chosen on the cycle.
export function answerOf(typed, place) {
  if (typed.trim() !== "") return { answer: typed.trim() };
  return place === null ? null : { place };
}

// results: [{kind, right}] by question, with gaps -> {right, answered, count, kinds: [{kind, right, answered}]}.
export function tallied(results, count) {
  const there = results.filter(Boolean);
  const kinds = new Map();
  for (const { kind, right } of there) {
    const told = kinds.get(kind) ?? { kind, right: 0, answered: 0 };
    kinds.set(kind, { kind, right: told.right + (right ? 1 : 0), answered: told.answered + 1 });
  }
  return { right: there.filter(({ right }) => right).length, answered: there.length, count, kinds: [...kinds.values()] };
}

export const tallyWords = ({ right, answered }) => (answered === 0 ? "" : `${right} of ${answered} right`);
