// What a word means, in one line beside it while it is pointed at, touched, or has the keyboard's focus; Escape, typing, a press
// anywhere or turning the page puts it away. It takes no press from what it lies over (10-ground.css).
//
// A word is any element with data-meaning. One in the label of a field is told when the keyboard comes to the field, so that it takes
// no stop of its own; a screen reader hears it then as the field's description, once.

const box = Object.assign(document.createElement("div"), { id: "meaning", hidden: true });
box.setAttribute("role", "tooltip");
document.body.append(box);
let word = null;
let described = null; // the element that has the focus, and what described it before
let byKeyboard = false;

const DESCRIBED = "aria-describedby";

function show(element, focused = null) {
  hide();
  word = element;
  if (focused !== null) {
    described = { element: focused, before: focused.getAttribute(DESCRIBED) };
    focused.setAttribute(DESCRIBED, [described.before, box.id].filter(Boolean).join(" "));
  }
  box.textContent = element.dataset.meaning;
  box.hidden = false;
  beside();
}

// Below the word; above one in a label, so that its field stays in view.
function beside() {
  const place = word.getBoundingClientRect();
  const left = Math.min(Math.max(8, place.left), innerWidth - box.offsetWidth - 8);
  const over = place.top - box.offsetHeight - 6;
  const isOver = over >= 0 && (word.closest("label") !== null || place.bottom + box.offsetHeight + 10 > innerHeight);
  box.style.left = `${left}px`;
  box.style.top = `${isOver ? over : place.bottom + 6}px`;
}

function hide() {
  if (word === null) return;
  if (described?.before) described.element.setAttribute(DESCRIBED, described.before);
  else described?.element.removeAttribute(DESCRIBED);
  word = described = null;
  box.hidden = true;
}

const wordAt = (target) => target.closest?.("[data-meaning]") ?? null;
const wordOfField = (target) => [...(target.labels ?? [])].map((label) => label.querySelector("[data-meaning]")).find(Boolean) ?? null;

document.addEventListener("pointerover", ({ target }) => {
  const found = wordAt(target);
  if (found) found !== word && show(found);
  else if (described === null) hide();
});
// a finger on the word in a label asks for its meaning; the field itself is beside it to be touched
document.addEventListener("click", (event) => {
  const found = event.pointerType === "touch" ? wordAt(event.target) : null;
  if (found === null || found.closest("label") === null) return;
  event.preventDefault();
  if (found !== word) show(found);
});
document.addEventListener("focusin", ({ target }) => {
  const found = wordAt(target) ?? (byKeyboard ? wordOfField(target) : null);
  if (found && target.matches(":focus-visible")) show(found, target);
  else if (described !== null) hide();
});
document.addEventListener("focusout", () => described !== null && hide());
document.addEventListener("input", hide);
addEventListener("scroll", () => (described === null ? hide() : beside()), { passive: true, capture: true }); // the focus may scroll
document.addEventListener("pointerdown", ({ target, pointerType }) => {
  byKeyboard = false;
  if (pointerType !== "touch" || wordAt(target) === null) hide(); // a finger on a word asks for it
}, true);
for (const turned of ["_dashprivate_pushstate", "popstate"]) addEventListener(turned, hide); // the first is what Dash's links tell
document.addEventListener("keydown", ({ key }) => {
  byKeyboard = key === "Tab";
  if (key === "Escape") hide();
}, true);
