// Deviations from paper as a drawing: names along the foot, milliseconds up (late) and down (early), one line of signs per series.
//
// Conventions: what is drawn is {x_title, y_title, names, band_ms, stems, series: [{name, values, places, landing}]}; `values` in ms,
// null where nothing was found; `places` [[from_s, to_s] or null], what a click on the sign plays; `landing`: whether the last sign is
// the landing. Signs and dashes differ from series to series, so colour is never alone. Drawn for a width in px, letters at their size.
import { escape, round } from "./rows.mjs";
import { signed, ticks } from "./scale.mjs";

const HEIGHT = 300;
const [LEFT, RIGHT, TOP] = [64, 26, 14];
const LEGEND = 28;
const LETTER = 7.2;
const LEAST_MS = 60; // a drawing of small deviations does not blow them up beyond this
const LEAST_COLUMN = 15; // px that a name of two lines needs
const SIGNS = ["circle", "square", "diamond", "triangle"];

// The half height of the axis in ms.
export function reachOf({ band_ms, series }) {
  const told = series.flatMap(({ values }) => values.filter((value) => value !== null).map(Math.abs));
  return 1.2 * Math.max(LEAST_MS, band_ms ?? 0, ...told);
}

export function deviationsSvg(told, width) {
  const { names, series, band_ms } = told;
  const legend = series.length > 1 ? legendOf(series, width) : { markup: "", height: 0 };
  const column = (width - LEFT - RIGHT) / names.length;
  const isSplit = Math.max(...names.map((name) => name.length)) * LETTER > column;
  const foot = isSplit ? 62 : 46;
  const top = TOP + legend.height;
  const bottom = HEIGHT - foot;
  const reach = reachOf(told);
  const toX = (index) => round(LEFT + (index + 0.5) * column);
  const toY = (ms) => round((top + bottom) / 2 - (ms / reach) * ((bottom - top) / 2));
  const shapes = [];
  if (band_ms) {
    shapes.push(`<rect class="band" x="${LEFT}" y="${toY(band_ms)}" width="${round(width - LEFT - RIGHT)}" height="${round(toY(-band_ms) - toY(band_ms))}"/>`);
  }
  for (const ms of ticks(-reach, reach, 7)) {
    const y = toY(ms);
    shapes.push(`<line class="${ms === 0 ? "zero" : "grid"}" x1="${LEFT}" x2="${round(width - RIGHT)}" y1="${y}" y2="${y}"/>`);
    shapes.push(`<text class="tick" text-anchor="end" x="${LEFT - 7}" y="${y + 4}">${signed(ms)}</text>`);
  }
  const every = isSplit ? Math.max(1, Math.ceil(LEAST_COLUMN / column)) : 1;
  names.forEach((name, index) => {
    if (index % every === 0) shapes.push(nameAt(name, toX(index), bottom + 16, isSplit));
  });
  series.forEach((each, number) => shapes.push(seriesOf(each, number, told, toX, toY)));
  shapes.push(`<text class="title" text-anchor="middle" x="${round((LEFT + width - RIGHT) / 2)}" y="${HEIGHT - 6}">${escape(told.x_title)}</text>`);
  const middle = round((top + bottom) / 2);
  shapes.push(`<text class="title" text-anchor="middle" transform="translate(13 ${middle}) rotate(-90)">${escape(told.y_title)}</text>`);
  return `<svg width="${round(width)}" height="${HEIGHT}" aria-hidden="true">${legend.markup}${shapes.join("")}</svg>`;
}

// "3 Ga" stands in two lines where there is no room beside each other.
function nameAt(name, x, y, isSplit) {
  const [first, ...rest] = isSplit ? name.split(" ") : [name];
  const second = rest.length ? `<tspan x="${x}" dy="15">${escape(rest.join(" "))}</tspan>` : "";
  return `<text class="tick" text-anchor="${name === "landing" && isSplit ? "end" : "middle"}" x="${name === "landing" && isSplit ? x + 22 : x}" y="${y}"${
    name === "landing" && isSplit ? ' dy="31"' : ""}>${escape(first)}${second}</text>`;
}

function seriesOf({ name, values, places, landing }, number, { names, stems }, toX, toY) {
  const shapes = [];
  if (stems) {
    values.forEach((ms, index) => ms !== null && shapes.push(`<line class="stem" x1="${toX(index)}" x2="${toX(index)}" y1="${toY(0)}" y2="${toY(ms)}"/>`));
  } else {
    for (const run of runsOf(values)) {
      const points = run.map((index) => `${toX(index)},${toY(values[index])}`).join(" ");
      shapes.push(`<polyline class="run" points="${points}"/>`);
    }
  }
  values.forEach((ms, index) => {
    if (ms === null) return;
    const isLanding = landing && index === values.length - 1;
    const [x, y] = [toX(index), toY(ms)];
    const place = places?.[index];
    const plays = place ? ` class="place" data-from="${place[0]}" data-to="${place[1]}"` : "";
    const words = `${names[index]}${name ? `, ${name}` : ""}: ${signed(ms)} ms`;
    const label = stems ? `<text class="value" text-anchor="middle" x="${x}" y="${ms >= 0 ? y - 12 : y + 21}">${signed(ms)} ms</text>` : "";
    const ring = isLanding && !stems ? `<circle class="ring" cx="${x}" cy="${y}" r="10"/>` : "";
    shapes.push(`<g${plays}><title>${escape(words)}${place ? "; click to hear it" : ""}</title>` +
      `<circle class="reach" cx="${x}" cy="${y}" r="13"/>${signAt(isLanding && stems ? 1 : number, x, y, isLanding ? 7 : 5.5, isLanding)}${ring}${label}</g>`);
  });
  return `<g class="series-${number % 6}">${shapes.join("")}</g>`;
}

// Stretches without a gap: lists of indices.
export function runsOf(values) {
  const runs = [];
  values.forEach((value, index) => {
    if (value === null) return;
    if (index > 0 && values[index - 1] !== null && runs.length) runs.at(-1).push(index);
    else runs.push([index]);
  });
  return runs;
}

function signAt(number, x, y, r, isLanding) {
  const look = `class="sign${isLanding ? " landing" : ""}"`;
  const kind = SIGNS[number % SIGNS.length];
  if (kind === "circle") return `<circle ${look} cx="${x}" cy="${y}" r="${r}"/>`;
  if (kind === "square") return `<rect ${look} x="${round(x - r)}" y="${round(y - r)}" width="${2 * r}" height="${2 * r}"/>`;
  const reach = 1.3 * r;
  const corners = kind === "diamond" ? [[0, -reach], [reach, 0], [0, reach], [-reach, 0]] : [[0, -reach], [reach, r], [-reach, r]];
  return `<polygon ${look} points="${corners.map(([dx, dy]) => `${round(x + dx)},${round(y + dy)}`).join(" ")}"/>`;
}

function legendOf(series, width) {
  let [x, y] = [LEFT, 16];
  const shapes = series.map(({ name }, number) => {
    const wide = 46 + name.length * LETTER;
    if (x > LEFT && x + wide > width) [x, y] = [LEFT, y + 20];
    const markup = `<g class="series-${number % 6}"><polyline class="run" points="${x},${y - 4} ${x + 26},${y - 4}"/>` +
      `${signAt(number, x + 13, y - 4, 5, false)}<text class="tick" x="${x + 32}" y="${y}">${escape(name)}</text></g>`;
    x += wide + 10;
    return markup;
  });
  return { markup: shapes.join(""), height: y - 16 + LEGEND };
}
