// What a key event means, and what is shown of the keys there are.
//
// Conventions: a key is named as people read it on the keyboard: "s", "?", "Space", "Escape", "Shift+ArrowLeft". Letters mean
// the same with and without Shift. Keys with Ctrl, Alt or Meta belong to the browser and have no name here, but for those by
// which people undo and redo everywhere: "Ctrl+z", "Ctrl+Shift+z", "Ctrl+y" (Meta is as good as Ctrl).

const SHOWN = {
  ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓", Escape: "Esc", PageUp: "Page ↑", PageDown: "Page ↓",
};
const HELD_DOWN = /^(Shift\+)?(Arrow|Page)|^[nmqw]$/; // these go on while they are held; any other key counts once

// The name of the key of an event, or null when it belongs to the page: somebody types in a field, a button has the focus.
export function nameOf({ key, shiftKey, ctrlKey, metaKey, altKey, repeat }, focus) {
  if (altKey || focus.typing) return null;
  if (ctrlKey || metaKey) return /^[zy]$/i.test(key) ? `Ctrl+${shiftKey ? "Shift+" : ""}${key.toLowerCase()}` : null;
  if ((key === " " || key === "Enter") && focus.pressable) return null;
  if (focus.choosing && /^Arrow|^Home$|^End$/.test(key)) return null;
  const plain = key === " " ? "Space" : key.length === 1 ? key.toLowerCase() : key;
  const name = shiftKey && plain.length > 1 ? `Shift+${plain}` : plain;
  return repeat && !HELD_DOWN.test(name) ? null : name;
}

const LONGEST_AGO_S = 1; // a window that stood still for longer says nothing about when the hand moved

// How long ago a key was pressed, in s, of its event's time and the present, in ms of the same clock: a busy machine handles
// a key late, and what is marked by it belongs where it was pressed.
export function agoOf(pressed_ms, now_ms) {
  const ago_s = (now_ms - pressed_ms) / 1000;
  return ago_s > 0 && ago_s <= LONGEST_AGO_S ? ago_s : 0;
}

// A key's name as it is printed on keyboards: "Shift+ArrowLeft" -> "Shift ←".
export function printed(name) {
  return name.split(/(?<=[^+])\+/).map((part) => SHOWN[part] ?? part).join(" ");
}

// The rows of the list of keys: [{heading, keys: [[printed, words], ...]}], those that do something now, heading by heading in
// the order in which they are first bound. Entries with several keys share a row: "← →  a matra back, a matra on".
export function listed(groups) {
  const rows = new Map(groups.map(({ heading }) => [heading, []]));
  for (const { heading, entries } of groups) {
    const doing = entries.filter(({ when }) => when === undefined || when());
    rows.get(heading).push(...doing.map(({ key, words }) => [[key].flat().map(printed).join("  "), words]));
  }
  return [...rows].map(([heading, keys]) => ({ heading, keys })).filter(({ keys }) => keys.length > 0);
}

// The entry that a name means, the one bound last first (a panel that is open comes before the page below it); or null.
export function bound(groups, name) {
  for (const { entries } of [...groups].reverse()) {
    for (const entry of entries) {
      if ([entry.key].flat().includes(name) && (entry.when === undefined || entry.when())) return entry;
    }
  }
  return null;
}
