// Light figures: `data-drawing` holds what is drawn, `data-kind` by which module. Drawn for the width there is, and again for
// another; a click on a sign or in a waveform plays that place, and a cursor follows the sound through the waveforms.
import { deviationsSvg } from "../deviations.mjs";
import { intervalsSvg } from "../intervals.mjs";
import { cursorAt, stretchAt, wavesSvg } from "../waves.mjs";
import { on } from "./desk.mjs";

const KINDS = { deviations: deviationsSvg, intervals: intervalsSvg, waves: wavesSvg };

const drawn = new WeakMap(); // element: {told, width}
const sized = new ResizeObserver((seen) => {
  for (const { target, contentRect } of seen) {
    const known = drawn.get(target);
    if (known && contentRect.width > 0 && Math.round(contentRect.width) !== known.width) drawAs(target, known.told);
  }
});

export function draw(element) {
  if (element.dataset.drawing === undefined) return; // another page's element stands in its place
  drawAs(element, JSON.parse(element.dataset.drawing));
  sized.observe(element);
}

function drawAs(element, told) {
  const width = Math.round(element.clientWidth);
  drawn.set(element, { told, width });
  if (width > 0) element.innerHTML = KINDS[element.dataset.kind](told, width); // else when there is room
}

document.addEventListener("click", async ({ target, clientX }) => {
  const stretch = stretchOf(target, clientX);
  if (!stretch) return;
  const [{ playPassage }, { preferences }] = await Promise.all([import("./player.mjs"), import("./preferred.mjs")]);
  await playPassage(stretch.from_s, stretch.to_s, { speed: preferences.speed });
});

function stretchOf(target, clientX) {
  const sign = target.closest?.(".drawing .place");
  if (sign) return { from_s: Number(sign.dataset.from), to_s: Number(sign.dataset.to) };
  const row = target.closest?.(".drawing .wave-row");
  const known = row && drawn.get(row.closest(".drawing"));
  if (!known) return null;
  const { left } = row.ownerSVGElement.getBoundingClientRect();
  return stretchAt(known.told, Number(row.dataset.row), clientX - left, known.width);
}

on("moved", (time_s) => {
  for (const element of document.querySelectorAll(".drawing[data-kind=waves]")) {
    const known = drawn.get(element);
    if (known) show(element, cursorAt(known.told, time_s, known.width));
  }
});

function show(element, place) {
  element.querySelectorAll(".cursor").forEach((line, row) => {
    const isHere = place?.row === row;
    line.setAttribute("visibility", isHere ? "visible" : "hidden");
    if (!isHere) return;
    line.setAttribute("x1", place.x);
    line.setAttribute("x2", place.x);
  });
}
