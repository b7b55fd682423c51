// Sending files in pieces, and telling how far things are. Lengths in bytes, times in seconds.

// The next piece of a file of which `received` bytes have come; null when it is whole.
export function nextPiece(size, received, piece) {
  return received >= size ? null : { from: received, to: Math.min(received + piece, size) };
}

// What a file is known by in this browser, so that sending goes on when the same one is chosen again.
export const markOf = ({ name, size, lastModified }) => `sent ${size} ${lastModified} ${name}`;

// A title from a file's name: its ending left out, underscores as spaces.
export function titleFrom(name) {
  return name.replace(/\.[^.\s]{1,5}$/, "").replaceAll("_", " ").trim() || name;
}

// A title from several names: what they begin with in common, in whole words, without words that only number them.
const NUMBERING = new Set(["side", "sides", "part", "parts", "disc", "disk", "cd", "tape", "reel", "track", "file", "no", "nr"]);
export function commonTitle(names) {
  if (names.length === 0) return "";
  if (names.length === 1) return titleFrom(names[0]);
  const rows = names.map((name) => titleFrom(name).split(/[\s-]+/));
  const words = [];
  for (const [i, word] of rows[0].entries()) {
    if (!rows.every((row) => row[i] === word)) break;
    words.push(word);
  }
  while (words.length > 0 && (NUMBERING.has(words.at(-1).toLowerCase()) || /^\d+$/.test(words.at(-1)))) words.pop();
  return words.join(" ") || titleFrom(names[0]);
}

// What a stem seems to hold by its name; "whole" where it does not say.
const STEMS = { tabla: /\b(tablas?|pakhawaj|percussion|drums?)\b/i, drone: /\b(tanpuras?|tambura|drone)\b/i, melody: /\b(melody|lead|sitar|sarod|mandolin|bansuri|violin|voice|vocals?|sarangi|santoor)\b/i };
export function roleFrom(name) {
  const told = name.replaceAll("_", " ");
  return Object.keys(STEMS).find((role) => STEMS[role].test(told)) ?? "whole";
}

// A length of time for people: "about 40 s", "about 3 min", "about 1 h 10 min".
export function leftWords(left_s) {
  if (left_s === null || left_s === undefined) return "";
  if (left_s < 50) return `about ${Math.max(5, 5 * Math.round(left_s / 5))} s left`;
  const minutes = Math.max(1, Math.round(left_s / 60));
  if (minutes < 60) return `about ${minutes} min left`;
  return `about ${Math.floor(minutes / 60)} h ${minutes % 60} min left`;
}

export const sizeWords = (bytes) => (bytes >= 1e9 ? `${(bytes / 1e9).toFixed(1)} GB` : `${(bytes / 1e6).toFixed(1)} MB`);

// How far a file is: `whole` once it was looked at and found to be sound.
export function sentWords({ file, received, whole }) {
  if (whole) return "sent";
  return received < file.size ? `${Math.floor((100 * received) / file.size)} % sent` : "sent, being looked at";
}

// What is said of a recording that is taken in (as GET /in-hand tells it).
export function orderWords(order) {
  if (order.became === "taken in") return "It is in the archive.";
  if (order.became !== "waiting") return order.said;
  if (order.stage === undefined) return order.ahead > 0 ? `It waits for ${order.ahead} other${order.ahead === 1 ? "" : "s"}.` : "It begins.";
  return [order.stage, `${Math.floor(100 * order.overall)} %`, leftWords(order.left_s)].filter(Boolean).join(", ");
}
