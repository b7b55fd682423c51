// A classic script in the head, so that a page is never drawn in the wrong light first: light, dark, or as the system has it. The
// choice is kept in this browser; windows that are open follow.
{
  const root = document.documentElement;
  const kept = () => {
    try {
      return localStorage.getItem("light") ?? "auto";
    } catch {
      return "auto"; // storage may be forbidden
    }
  };
  const show = (choice) => {
    root.dataset.light = choice;
    for (const button of document.querySelectorAll("[data-light-choice]")) {
      button.setAttribute("aria-pressed", String(button.dataset.lightChoice === choice));
    }
  };
  show(kept());
  addEventListener("storage", ({ key }) => key === "light" && show(kept()));
  document.addEventListener("click", ({ target }) => {
    const choice = target.closest?.("[data-light-choice]")?.dataset.lightChoice;
    if (!choice) return;
    try {
      localStorage.setItem("light", choice);
    } catch {
      // then it lasts as long as the page
    }
    show(choice);
  });
  // the buttons come with Dash's first drawing
  document.addEventListener("layakosh:shown", () => show(root.dataset.light));
}
