// Plotly's figures: `data-chart` holds one as JSON. The library is fetched when the first of them comes near the window and the
// page has nothing else to do, and then all are drawn; each keeps its place free meanwhile, so that nothing moves.

const LIBRARY = "/_dash-component-suites/plotly/package_data/plotly.min.js";
const NEAR = "400px"; // around the window
// no toolbar, and scrolling the page over a figure scrolls the page
const CALM = { displayModeBar: false, scrollZoom: false, doubleClick: false, showTips: false, responsive: true };
const IDLE_MS = 500; // so long at most the page may be busy with something else

let library = null;
const waiting = new Set();
const drawn = new Set();
const near = new IntersectionObserver((seen) => {
  for (const { target, isIntersecting } of seen) {
    if (!isIntersecting) continue;
    near.unobserve(target);
    draw(target);
  }
}, { rootMargin: NEAR });

export function watch(element) {
  waiting.add(element);
  near.observe(element);
}

async function draw(element) {
  waiting.delete(element);
  try {
    const plotly = await fetched();
    for (const each of drawn) {
      if (each.isConnected && each.dataset.chart !== undefined) continue;
      plotly.purge(each); // it listens to the window's size otherwise
      drawn.delete(each);
    }
    if (!element.isConnected || element.dataset.chart === undefined) return;
    const { data, layout } = JSON.parse(element.dataset.chart);
    drawn.add(element);
    await plotly.react(element, data, layout, CALM);
    await idle();
    const [next] = waiting; // now that the library is there the others need not wait for somebody to come
    if (next) await draw(next);
  } catch (error) {
    element.textContent = `The figure could not be drawn: ${error.message}. Its numbers are below.`;
  }
}

function fetched() {
  library ??= idle().then(arrive).catch((error) => {
    library = null; // the next figure asks again
    throw error;
  });
  return library;
}

function arrive() {
  return new Promise((done, failed) => {
    const script = Object.assign(document.createElement("script"), { src: LIBRARY, async: true });
    script.addEventListener("load", () => done(window.Plotly));
    script.addEventListener("error", () => failed(new Error("what draws it did not arrive")));
    document.head.append(script);
  });
}

function idle() {
  return new Promise((done) => {
    if ("requestIdleCallback" in window) requestIdleCallback(done, { timeout: IDLE_MS });
    else setTimeout(done, 50);
  });
}
