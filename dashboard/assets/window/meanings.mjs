// What a word means, in one line beside it while it is pointed at or has the keyboard's focus; Escape puts it away. A word is any
// element with data-meaning.

const box = Object.assign(document.createElement("div"), { id: "meaning", hidden: true });
box.setAttribute("role", "tooltip");
document.body.append(box);
let word = null;
let described = null;

function show(element, focused) {
  hide();
  word = element;
  described = focused ?? null;
  described?.setAttribute("aria-describedby", box.id);
  box.textContent = element.dataset.meaning;
  box.hidden = false;
  const place = element.getBoundingClientRect();
  const left = Math.min(Math.max(8, place.left), innerWidth - box.offsetWidth - 8);
  const above = place.bottom + box.offsetHeight + 10 > innerHeight;
  box.style.left = `${left}px`;
  box.style.top = `${above ? place.top - box.offsetHeight - 6 : place.bottom + 6}px`;
}

function hide() {
  if (word === null) return;
  described?.removeAttribute("aria-describedby");
  word = described = null;
  box.hidden = true;
}

const wordAt = (target) => target.closest?.("[data-meaning]");

document.addEventListener("pointerover", ({ target }) => {
  if (target === box) return; // it may be pointed at too
  const found = wordAt(target);
  if (found) found !== word && show(found);
  else if (described === null) hide();
});
document.addEventListener("focusin", ({ target }) => {
  const found = wordAt(target);
  if (found && target.matches(":focus-visible")) show(found, target);
  else if (described !== null) hide();
});
document.addEventListener("focusout", () => described !== null && hide());
addEventListener("scroll", hide, { passive: true, capture: true });
document.addEventListener("keydown", ({ key }) => key === "Escape" && hide(), true);
