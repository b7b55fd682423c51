// A classic script, there before Dash starts: it gives Dash names to call and fetches the modules when first called; for a
// folded page and for composing at once, so that they arrive while Dash is still starting.
if (/^\/(cycles|tihais|proposals)\/./.test(location.pathname)) import("/assets/window/main.mjs");
if (location.pathname === "/compose") import("/assets/window/compose.mjs");
if (location.pathname === "/practice") import("/assets/window/practice.mjs");
if (location.pathname === "/practice/clap") import("/assets/window/clapping.mjs");
if (/^\/($|add$|concerts\/.)/.test(location.pathname)) import("/assets/window/concerts.mjs");
if (/^\/courses($|\/.)/.test(location.pathname)) import("/assets/window/courses.mjs");
import("/assets/window/meanings.mjs");
import("/assets/window/figures.mjs");
window.dash_clientside = Object.assign({}, window.dash_clientside, {
  layakosh: {
    show: async (data) => (await import("/assets/window/main.mjs")).show(data),
    marked: async (...values) => void (await import("/assets/window/main.mjs")).changed(values),
    concerts: async (told) => (await import("/assets/window/concerts.mjs")).show(told),
    courses: async (told) => (await import("/assets/window/courses.mjs")).show(told),
    proposals: async (told) => (await import("/assets/window/proposals.mjs")).show(told),
    compose: async () => (await import("/assets/window/compose.mjs")).show(),
    practice: async (what) => (await import(`/assets/window/${what === "clap" ? "clapping" : "practice"}.mjs`)).show(),
    // a page has been turned to: say so in the window's title, and begin at its top, also for the keyboard
    title: (title) => {
      const first = document.title === "Layakosh";
      document.title = title;
      if (first) document.dispatchEvent(new CustomEvent("layakosh:shown"));
      if (first) return;
      scrollTo(0, 0);
      document.getElementById("page").focus({ preventScroll: true });
    },
  },
});
// buttons that take up what is heard again and again
document.addEventListener("click", async ({ target }) => {
  const button = target.closest?.("button[data-takes-up]");
  if (button) (await import("/assets/window/heard_again.mjs")).press(button);
});
// buttons that play something, on whatever page: stretches of the page's recording, or one instance of what a number counts
document.addEventListener("click", async ({ target }) => {
  const button = target.closest?.("button[data-plays], button[data-hear]");
  if (!button) return;
  const name = button.dataset.plays === undefined ? "instance" : "comparing";
  (await import(`/assets/window/${name}.mjs`)).press(button);
});
