// What the modules of a page share: the data that is shown, the region it is shown in, and word of what happens.
//
// A page is opened each time its data arrives; `desk.signal` is aborted when the next one is. Modules listen once, when they
// are loaded, and answer for whatever page is open then:
//   "opened"    {again}        a page's data has arrived; `again`: the same recording in the same region
//   "renewed"   number         somebody has edited the recording: desk.data is new, so many rows have changed
//   "laid"      null           the lines of the page stand elsewhere (another width, closeness, or data)
//   "revealed"  null           other lines of the page are near the window
//   "details"   Set of keys    what stands in these rows is known now (details.mjs)
//   "moved"     time in s      the sound, or the place looked at, is there now
//   "playing"   true or false  the sound has begun or ended
//   "selected"  {from_s, to_s} or null   a passage is selected, or none any more
//   "looped"    null           desk.loop has changed: {from_s, to_s, words, on} or null, what is played again and again while `on`
//   "marked"    null           times in the marking panel have changed
//   "typed"     null           the row that is open for editing has changed, or none is open any more
//   "listed"    null           what is marked is known anew (marked.mjs)
//
// desk.data is an outline as outline.mjs unpacks it: {slug, version, duration_s, at_s, passage, talas, stretches, swaras, rows,
// tihais: [{id, palla_s, landing_s, verdict, ...}], loudness}; desk.selection is {from_s, to_s} or null, in seconds.

export const desk = { data: null, region: null, signal: null, selection: null, loop: null };

const word = new EventTarget();
let ending = null;

export function on(kind, answer) {
  word.addEventListener(kind, ({ detail }) => answer(detail));
}

export function tell(kind, detail = null) {
  word.dispatchEvent(new CustomEvent(kind, { detail }));
}

export function open(data, region) {
  const again = desk.data !== null && desk.data.slug === data.slug && desk.region === region;
  ending?.abort();
  ending = new AbortController();
  Object.assign(desk, { data, region, signal: ending.signal, selection: again ? desk.selection : null });
  tell("opened", { again });
}

// Select a passage, its ends in either order; without them nothing is selected any more.
export function select(a_s = null, b_s = null) {
  const kept = (time_s) => Math.min(Math.max(time_s, 0), desk.data.duration_s);
  desk.selection = a_s === null ? null : { from_s: kept(Math.min(a_s, b_s)), to_s: kept(Math.max(a_s, b_s)) };
  tell("selected", desk.selection);
}

// Whether a folded page is there: its region goes when another page is turned to.
export const isOpen = () => desk.region !== null && desk.region.isConnected;

export const byId = (id) => document.getElementById(id);

export function write(id, text) {
  const element = byId(id);
  if (element && element.textContent !== text) element.textContent = text;
}

export const say = (line) => write("said", line);
