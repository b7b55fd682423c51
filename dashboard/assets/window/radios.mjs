// A choice among a few that Dash draws as a list box around radio buttons, which a screen reader would tell twice and without a
// name: here it is what it looks like, a group of radio buttons named by the label before it.
import { on } from "./desk.mjs";

on("opened", () => {
  for (const list of document.querySelectorAll('.dash-radioitems[role="listbox"]')) {
    list.setAttribute("role", "radiogroup");
    const label = list.previousElementSibling;
    if (label?.id) list.setAttribute("aria-labelledby", label.id);
    for (const option of list.querySelectorAll('[role="option"]')) {
      option.removeAttribute("role");
      option.removeAttribute("aria-selected");
    }
  }
});
