// Sending edits to the server, and what has to be renewed after one.
//
// write(what, told) posts to /marks/<slug>/<what> and gives {said, revision}, or throws an error whose message can be shown; where
// somebody else was first, the error has `conflict` with both versions. After an edit the page and the list are renewed.
import { desk, say } from "./desk.mjs";
import { refresh } from "./folded.mjs";

const own = new Set(); // revisions made in this window

// What Dash's callbacks saved for this window is its own too.
export const claim = (revision) => own.add(revision);
export const isOwn = (revision) => own.has(revision);

export const placeOf = (what) => `/marks/${encodeURIComponent(desk.data.slug)}${what === "" ? "" : `/${what}`}`;

export async function write(what, told = {}) {
  let response;
  try {
    response = await fetch(placeOf(what), {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(told),
    });
  } catch (error) {
    throw new Error("The server does not answer, so nothing was saved. Is it still running?", { cause: error });
  }
  const content = await response.json().catch(() => null);
  if (!response.ok || content === null) {
    const error = new Error(content?.error ?? `The server answered ${response.status}; nothing was saved.`);
    throw Object.assign(error, { conflict: content?.conflict ?? null });
  }
  own.add(content.revision);
  await refresh();
  return content;
}

// The same, with what came of it said; answers with whether it was written. `conflicted(conflict)` is called where somebody
// else was first.
export async function attempt(what, told, conflicted = null) {
  try {
    say((await write(what, told)).said);
    return true;
  } catch (error) {
    say(error.message.split("\n")[0]);
    if (error.conflict && conflicted !== null) conflicted(error.conflict);
    return false;
  }
}
