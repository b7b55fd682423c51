// What stands in the rows: fetched in blocks as they come near the window, kept until it is long out of use.
//
// Tells "details" with the keys of the rows that have arrived. When the server answers for a later revision than the page
// shows, the page is refreshed first.
import { blocksOf } from "../wanted.mjs";
import { desk, isOpen, say, tell } from "./desk.mjs";
import { fetchJson } from "./fetching.mjs";

const MOST = 700; // rows kept, about 6 kB each
const AT_ONCE = 2;
const AGAIN_MS = 3000; // after a failure

const kept = new Map(); // key of a row -> its detail, the ones used last at the end
const asking = new Set(); // blocks on their way
let wish = null; // {first, last, view, cells, refresh}

export const detailOf = ({ key }) => kept.get(key);

export function keep(details) {
  for (const detail of details) {
    kept.delete(detail.key);
    kept.set(detail.key, detail);
  }
  for (const key of kept.keys()) {
    if (kept.size <= MOST) break;
    kept.delete(key);
  }
}

const isThere = (row) => (kept.get(desk.data.rows[row].key)?.cells ?? 0) >= wish.cells;

// Fetch the rows from `first` to `last` that are not there in `cells` steps a column; those in `view` [near, far] first.
// `refresh` is called when the server knows a later revision.
export function want(wanted) {
  if (desk.data.details) return; // a passage brings everything along
  wish = wanted;
  next();
}

function next() {
  if (wish === null || !isOpen()) return;
  for (const block of blocksOf(wish.first, wish.last, isThere, wish.view)) {
    if (asking.size >= AT_ONCE) return;
    if (!asking.has(`${block[0]} ${wish.cells}`)) ask(block, wish);
  }
}

async function ask([from, to], { cells, refresh }) {
  const { data, signal } = desk;
  const name = `${from} ${cells}`;
  asking.add(name);
  try {
    const { content } = await fetchJson(`/rows/${encodeURIComponent(data.slug)}?from=${from}&to=${to}&cells=${cells}`, { signal });
    if (signal.aborted) return;
    keep(content.rows);
    if (content.version !== desk.data.version) await refresh();
    tell("details", new Set(content.rows.map(({ key }) => key)));
  } catch (error) {
    if (signal.aborted) return;
    say(error.message);
    await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
  } finally {
    asking.delete(name);
    if (!signal.aborted) next();
  }
}
