// The loop on the lines: a band over what is played again and again, with its two ends; paler while the loop is off.
import { desk, isOpen, on } from "./desk.mjs";
import { sheet, spans } from "./folded.mjs";

const layer = Object.assign(document.createElement("div"), { className: "looped" });

on("laid", () => {
  sheet().append(layer);
  draw();
});
on("revealed", draw);
on("looped", draw);

function draw() {
  if (!isOpen()) return;
  const { loop } = desk;
  layer.classList.toggle("off", loop?.on !== true);
  const pieces = loop === null ? [] : spans(loop.from_s, loop.to_s);
  layer.replaceChildren(...pieces.map(({ left, top, width, height }, i) => {
    const piece = document.createElement("span");
    piece.classList.toggle("begins", i === 0);
    piece.classList.toggle("ends", i === pieces.length - 1);
    Object.assign(piece.style, { left: `${left}px`, top: `${top}px`, width: `${Math.max(width, 2)}px`, height: `${height}px` });
    return piece;
  }));
}
