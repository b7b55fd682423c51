// What Dash calls (see start.js): every module of the pages is loaded from here.
import { byId, open } from "./desk.mjs";
import "./folded.mjs";
import { changed } from "./marks.mjs";

// The data of a folded page has arrived.
export function show(data) {
  const region = byId("fold");
  if (!data || !region) return "";
  open(data, region);
  return data.slug;
}

export { changed };
