// Elements made in one line, and messages in a box.

// make("button", {type: "button", onclick, "aria-label": ...}, "text", child, ...): properties where the element has them,
// else attributes; what is null or false is left out.
export function make(name, properties = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(properties)) {
    if (value === null || value === false || value === undefined) continue;
    if (key in element) element[key] = value;
    else element.setAttribute(key, value);
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return element;
}

export const button = (text, act, properties = {}) => make("button", { type: "button", onclick: act, ...properties }, text);

// Fill a box with a message; one of several lines points at a place with a caret, and keeps its columns. `kind`: "right",
// "wrong" or "".
export function tellIn(box, lines, kind = "") {
  if (box === null) return;
  const content = [lines].flat().flatMap((line) => {
    const [first, ...rest] = line.split("\n");
    return [make("p", {}, first), rest.length > 0 ? make("pre", {}, rest.join("\n")) : null];
  });
  box.replaceChildren(...(content.length === 0 ? [] : [make("div", { className: `told ${kind}`.trim() }, content)]));
}
