// The pages around performances: the list, what is said of one, and adding recordings. Dash brings their parts as markup from
// templates of ours (dashboard/concerts), with the values in it escaped.
import { showAdding } from "./adding.mjs";
import { showDetails } from "./details_form.mjs";
import { showList } from "./listed.mjs";
import { turnFrom } from "./turning.mjs";
import { showWithdrawn } from "./withdrawing.mjs";

const SHOW = { list: showList, details: showDetails, add: showAdding, withdrawn: showWithdrawn };
let shown = null;
let ending = null;

// Called by Dash (start.js) when one of the pages is put in.
export function show(told) {
  const region = document.getElementById("concerts");
  if (!told || !region) return "";
  ending?.abort();
  ending = new AbortController();
  if (shown !== region) turnFrom(region);
  shown = region;
  SHOW[told.page](region, told.parts, ending.signal);
  return told.page;
}
