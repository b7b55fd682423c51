// Marks that wait to be saved, as they are kept in the browser for each person and recording; and what is said of them when
// the page is opened again.
//
// Kept: {at: ms since 1970, fields: {id: text}, form: {table, key, seen, fields: {word: text}} or null}, as JSON. What cannot
// be read as that is nothing: it may come from another version of the page.

const DAY_MS = 86400000;

export const nameOfKept = (person, slug) => `layakosh marks ${person} ${slug}`;

// Whether anything was written: what stands in every field from the beginning does not count.
export function isWorth({ fields, form }, usual = {}) {
  return form !== null || Object.entries(fields).some(([id, text]) => text.trim() !== (usual[id] ?? ""));
}

export function read(text) {
  try {
    const kept = JSON.parse(text);
    const texts = (each) => typeof each === "object" && each !== null && Object.values(each).every((v) => typeof v === "string");
    const isForm = (form) => form === null || (texts(form.fields) && Number.isInteger(form.seen) && texts({ t: form.table, k: form.key }));
    return Number.isFinite(kept.at) && texts(kept.fields) && isForm(kept.form) ? kept : null;
  } catch {
    return null;
  }
}

// "3 marks from yesterday", "1 mark and changes of tihai t02 from 5 minutes ago".
export function said({ at, fields, form }, now) {
  const marks = timesIn(fields);
  const parts = [];
  if (marks > 0) parts.push(`${marks} mark${marks === 1 ? "" : "s"}`);
  else if (Object.values(fields).some((text) => text.trim() !== "")) parts.push("a tihai being written");
  if (form !== null) parts.push(form.key === "" ? "a phrase being written" : `changes of ${form.table.replace(/s$/, "")} ${form.key}`);
  return `${parts.join(" and ")} ${when(at, now)}`;
}

const MARKS = /^mark-(sams|start-[123]|landing)$/; // fields that hold times

function timesIn(fields) {
  const texts = Object.entries(fields).filter(([id]) => MARKS.test(id)).map(([, text]) => text);
  return texts.join(" ").split(/[\s,;]+/).filter(Boolean).length;
}

function when(at, now) {
  const days = Math.floor(dayOf(now)) - Math.floor(dayOf(at));
  if (days === 1) return "from yesterday";
  if (days > 1) return `from ${days} days ago`;
  const minutes = Math.round((now - at) / 60000);
  if (minutes < 1) return "from just now";
  if (minutes < 60) return `from ${minutes} minute${minutes === 1 ? "" : "s"} ago`;
  const hours = Math.round(minutes / 60);
  return `from ${hours} hour${hours === 1 ? "" : "s"} ago`;
}

// Days since 1970 by the clock of this machine.
const dayOf = (ms) => (ms - new Date(ms).getTimezoneOffset() * 60000) / DAY_MS;
