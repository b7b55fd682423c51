// Figures of all pages, by what draws them: each module is fetched when the first of its figures arrives.
import { arriving } from "./arriving.mjs";

arriving("data-drawing", async (element) => (await import("./drawings.mjs")).draw(element));
arriving("data-chart", async (element) => (await import("./charts.mjs")).watch(element));
