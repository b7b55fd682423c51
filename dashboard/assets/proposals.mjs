// The list of proposals: which are shown in what order, and where the keys lead.
//
// A proposal is as `dashboard/proposals/shown.py` tells it: {key, status: "waiting", "accepted" or "rejected", at_s, sure, ...};
// they come with the likeliest first.

export const SHOWN_AT_FIRST = 40;

// Those that are asked for: `status` "waiting" or "all", `order` "likeliest" or "time"; the one that is open is among them.
export function shownOf(proposals, { status, order }, open = null) {
  const fitting = proposals.filter((each) => status === "all" || each.status === "waiting" || each.key === open);
  return order === "time" ? fitting.toSorted((a, b) => a.at_s - b.at_s) : fitting;
}

// The one before or after in what is shown, or null at either end; without one that is open the first.
export function beside(shown, key, by) {
  const at = shown.findIndex((each) => each.key === key);
  return (at < 0 ? shown[0] : shown[at + by]) ?? null;
}

// The one to go on with once `key` is decided: the next that waits, else the first that does; null when all is decided.
export function following(shown, key) {
  const at = shown.findIndex((each) => each.key === key);
  const waits = (each) => each.status === "waiting" && each.key !== key;
  return shown.slice(at + 1).find(waits) ?? shown.find(waits) ?? null;
}

// "12 wait, 5 accepted, 3 rejected"
export function countWords(proposals) {
  const count = (status) => proposals.filter((each) => each.status === status).length;
  const waiting = count("waiting");
  return `${waiting} ${waiting === 1 ? "waits" : "wait"}, ${count("accepted")} accepted, ${count("rejected")} rejected`;
}

// How far a run of the finder is, in words.
export function runWords({ share }) {
  if (share === null) return "Another performance is looked through first.";
  return share > 0 ? `Looking for tihais: ${Math.round(100 * share)} %` : "Following the melody and the strokes";
}
