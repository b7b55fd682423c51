// What Dash calls (see start.js): every module of the pages is loaded from here.
import { unpack } from "../outline.mjs";
import { byId, desk, isOpen, open, say } from "./desk.mjs";
import { fetchOutline, refresh } from "./folded.mjs";
import "./over.mjs";
import "./going.mjs";
import "./looped.mjs";
import "./overview.mjs";
import { changed, settle } from "./marks.mjs";
import { claim } from "./posting.mjs";
import "./radios.mjs";
import "./selecting.mjs";
import "./alike.mjs";
import "./undoing.mjs";
import "./holding.mjs";
import "./rowform.mjs";
import "./savedlist.mjs";
import "./keeping.mjs";
import "./transport.mjs";
import "./typing.mjs";
import "./watch.mjs";

// The outline of the page that the window was opened with is asked for before Dash has put the page in.
const first = /^\/cycles\/([^/]+)$/.exec(location.pathname)?.[1];
let early = first ? Promise.resolve(first).then(decodeURIComponent).then((slug) => fetchOutline(slug, { early: true })).catch(() => null) : null;

async function outlineOf({ slug, version }) {
  const there = await early;
  early = null;
  return there?.slug === slug && there.version === version ? there : fetchOutline(slug);
}

// A folded page has been put in, or what it shows was edited. `told` is a passage with all its rows, or only a slug, whose
// outline is fetched.
export async function show(told) {
  const region = byId("fold");
  if (!told || !region) return "";
  if (told.rows) {
    open(unpack(told), region);
  } else if (isOpen() && desk.data.slug === told.slug && desk.region === region) {
    claim(Number.parseInt(told.version, 10)); // a version begins with the revision
    settle();
    await refresh();
  } else {
    try {
      const outline = await outlineOf(told);
      if (region.isConnected) open({ ...outline, at_s: told.at_s ?? null }, region);
    } catch (error) {
      say(error.message);
      region.textContent = error.message;
    }
  }
  return told.slug;
}

export { changed };
