// The pages of courses: the list, and one of them. Dash brings their parts as markup from templates of ours
// (dashboard/courses), with the values in it escaped.
import { showCourse } from "./course.mjs";
import { ask } from "./course_asking.mjs";
import { turnFrom, turnTo } from "./turning.mjs";

let shown = null;
let ending = null;

// Called by Dash (start.js) when one of the pages is put in.
export function show(told) {
  const region = document.getElementById("courses");
  if (!told || !region) return "";
  ending?.abort();
  ending = new AbortController();
  if (shown !== region) turnFrom(region);
  shown = region;
  (told.page === "list" ? showList : showCourse)(region, told.markup, ending.signal);
  return told.page;
}

function showList(region, markup, signal) {
  region.innerHTML = markup;
  const said = region.querySelector("#course-said");
  const turn = async (address, content) => {
    const answer = await ask(address, content, signal);
    if (answer?.to) turnTo(answer.to);
    else if (answer) said.textContent = `✕ ${answer.error}`;
  };
  region.querySelector("#course-new")?.addEventListener(
    "submit",
    (event) => {
      event.preventDefault();
      turn("/course", Object.fromEntries(new FormData(event.target)));
    },
    { signal },
  );
  region.addEventListener(
    "click",
    ({ target }) => {
      const key = target.closest?.("[data-put-back]")?.dataset.putBack;
      if (key) turn(`/course/${encodeURIComponent(key)}/put-back`, {});
    },
    { signal },
  );
}
