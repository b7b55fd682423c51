// One course: read, its chapters moved, undone and redone, and the forms by which it is edited. An edit is answered with the
// whole course, which takes the place of what is shown; what has the focus keeps it.
import { openForm } from "./chapter_form.mjs";
import { ask, look } from "./course_asking.mjs";
import { turnTo } from "./turning.mjs";
import { versions } from "./versions.mjs";

export function showCourse(region, markup, signal) {
  region.innerHTML = markup;
  let form = null; // the form of a chapter that is open
  const bar = () => region.querySelector("#course-bar");
  const place = () => `/course/${encodeURIComponent(bar().dataset.key)}`;
  const seen = () => Number(bar().dataset.seen);

  function tell(words, kind = "") {
    const said = region.querySelector("#course-said");
    said.className = kind;
    said.textContent = words;
  }

  // Show the course as it is now, and bring the focus to where `find` leads in it.
  function renew(answer, find = () => null) {
    const open = [...region.querySelectorAll("details[open]")].map((each) => each.id).filter(Boolean);
    close();
    region.innerHTML = answer.course;
    for (const id of open) region.querySelector(`#${id}`)?.setAttribute("open", "");
    const heading = document.querySelector("main h1");
    if (heading) heading.textContent = bar().dataset.title;
    tell(answer.said ?? "");
    find()?.focus();
  }

  // Somebody else was first where there is nothing to choose: show what they made of it.
  async function overtaken({ who }) {
    const again = await look(place(), signal);
    if (again?.course === undefined) return;
    renew(again);
    tell(`✕ ${who} has changed the same since you opened this. Here is the course as it is now; do it again if it is still wanted.`, "wrong");
  }

  // Post something; where it was done the course is shown anew. Answers with what came back.
  async function post(address, content, find, conflicted) {
    const answer = await ask(address, content, signal);
    if (answer === null) return null;
    if (answer.course !== undefined) renew(answer, () => find?.(answer));
    else if (answer.conflict && conflicted) conflicted(answer.conflict);
    else if (answer.conflict) await overtaken(answer.conflict);
    else if (!answer.to) tell(`✕ ${answer.error}`, "wrong");
    return answer;
  }

  const edit = (content, find, conflicted) => post(place(), { seen: seen(), ...content }, find, conflicted);
  const section = (key) => region.querySelector(`[data-chapter="${CSS.escape(key)}"].chapter`);

  // Write what a form holds, and where somebody else was first show both versions in it.
  function save(box, content, find, done = () => {}) {
    const write = async (keep) => {
      const answer = await edit({ ...content, keep }, (told) => { done(); return find(told); }, (conflict) => {
        const words = `✕ ${conflict.who} has changed the same since you opened this. Yours is not written yet.`;
        box.replaceChildren(...versions(words, conflict, write));
        box.scrollIntoView({ block: "nearest" });
      });
      if (answer?.error && !answer.conflict) box.replaceChildren(Object.assign(document.createElement("p"), { className: "wrong", textContent: `✕ ${answer.error}` }));
    };
    return write("");
  }

  function move(key, steps) {
    const to = Number(section(key).dataset.place) + steps;
    if (to < 1 || to > region.querySelectorAll(".chapter").length) return;
    edit({ do: "move", chapter: key, place: to }, () => {
      const buttons = [...section(key).querySelectorAll("[data-move]")];
      return buttons.find((each) => Number(each.dataset.move) === steps && !each.disabled) ?? buttons.find((each) => !each.disabled);
    });
  }

  const toEdit = (key) => () => section(key)?.querySelector("[data-edit]") ?? region.querySelector("#chapter-new-title");

  // Open the form of a chapter in its place; meanwhile nothing else is edited, so that nothing typed is lost.
  async function open(key) {
    if (form !== null) return;
    const answer = await look(`${place()}/form/${encodeURIComponent(key)}`, signal);
    if (answer === null || section(key) === null) return;
    if (answer.error) return tell(`✕ ${answer.error}`, "wrong");
    tell("");
    region.classList.add("busy");
    form = openForm(section(key), answer.form, bar().dataset.key, signal, {
      save: (box, content, done) => save(box, content, toEdit(key), done),
      cancel: async () => {
        const again = await look(place(), signal);
        if (again?.course !== undefined) renew(again, toEdit(key));
        else if (again !== null) tell(`✕ ${again.error}`, "wrong");
      },
    });
  }

  function close() {
    form = null;
    region.classList.remove("busy");
  }

  region.addEventListener(
    "click",
    async ({ target }) => {
      const button = target.closest?.("button, a[data-chapter-link]");
      if (!button || !region.contains(button)) return;
      const key = button.closest(".chapter")?.dataset.chapter;
      if (button.dataset.move && form === null) move(key, Number(button.dataset.move));
      else if ("edit" in button.dataset) open(key);
      else if (button.dataset.turn && form === null) post(`${place()}/${button.dataset.turn}`, {}, () => region.querySelector(`[data-turn="${button.dataset.turn}"]:not(:disabled)`) ?? region.querySelector("[data-turn]:not(:disabled)"));
      else if ("takeOut" in button.dataset) {
        const answer = await ask(`${place()}/take-out`, {}, signal);
        if (answer?.to) turnTo(answer.to);
        else if (answer) tell(`✕ ${answer.error}`, "wrong");
      }
    },
    { signal },
  );
  region.addEventListener(
    "keydown",
    (event) => {
      const steps = { ArrowUp: -1, ArrowDown: 1 }[event.key];
      if (!steps || !event.altKey || form !== null || !event.target.closest?.(".chapter-tools")) return;
      event.preventDefault();
      move(event.target.closest(".chapter").dataset.chapter, steps);
    },
    { signal },
  );
  region.addEventListener(
    "submit",
    (event) => {
      const told = Object.fromEntries(new FormData(event.target));
      if (event.target.id === "chapter-new") {
        event.preventDefault();
        if (form === null) edit({ do: "add", ...told }, ({ chapter }) => { open(chapter); return null; });
      } else if (event.target.id === "course-form") {
        event.preventDefault();
        if (form === null) save(event.target.querySelector(".conflict"), { do: "course", ...told }, () => region.querySelector("#course-form button"));
      }
    },
    { signal },
  );
  addEventListener("beforeunload", (event) => form?.changed() && event.preventDefault(), { signal });
}
