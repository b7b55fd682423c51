// A classic script, there before Dash starts: it gives Dash names to call and fetches the modules when first called.
window.dash_clientside = Object.assign({}, window.dash_clientside, {
  layakosh: {
    show: async (data) => (await import("/assets/binding.mjs")).show(data),
    ghosts: async () => void (await import("/assets/binding.mjs")).ghosts(),
    title: (title) => {
      document.title = title;
    },
  },
});
