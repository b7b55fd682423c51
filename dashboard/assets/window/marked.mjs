// What is marked in the recording that is open, as the server lists it (dashboard/marking/routes.py): fetched when the page is
// opened and again after every edit, here or elsewhere. Tells "listed" when it is there.
//
// listing() is {revision, last: {who, why}, sams, tihais, phrases, sections: [{key, at_s, words}], undo, redo} or null.
import { byId, desk, isOpen, on, say, tell } from "./desk.mjs";
import { fetchJson } from "./fetching.mjs";
import { isOwn, placeOf } from "./posting.mjs";

let shown = { slug: null, tag: null, content: null };
let listing_ = null;

export const panel = () => byId("marking");
export const canEdit = () => panel() !== null && isOpen() && !desk.data.details;
export const listing = () => (shown.slug === desk.data?.slug ? shown.content : null);

// The marked sam at a time, or null: one that the tracker found has no row.
export const samAt = (time_s) => listing()?.sams.find(({ at_s }) => Math.abs(at_s - time_s) < 1e-3) ?? null;

export function renew() {
  if (!canEdit()) return Promise.resolve();
  listing_ ??= fetched()
    .catch((error) => error.name !== "AbortError" && say(error.message))
    .finally(() => (listing_ = null));
  return listing_;
}

async function fetched() {
  const { slug } = desk.data;
  const before = shown.slug === slug ? shown.content : null;
  const answer = await fetchJson(placeOf(""), { known: before === null ? null : shown.tag, signal: desk.signal });
  if (answer !== null) shown = { slug, tag: answer.tag, content: answer.content };
  const { revision, last } = shown.content;
  if (before !== null && revision !== before.revision && !isOwn(revision)) say(`${last.who}: ${last.why}.`);
  tell("listed");
}

on("opened", renew);
on("renewed", renew);
