// What the modules of a page share: the data that is shown, the region it is shown in, and word of what happens.
//
// A page is opened each time its data arrives; `desk.signal` is aborted when the next one is. Modules listen once, when they
// are loaded, and answer for whatever page is open then:
//   "opened"   {again}        a page's data has arrived; `again`: the same recording, drawn anew
//   "moved"    time in s      the sound, or the place looked at, is there now
//   "playing"  true or false  the sound has begun or ended
//   "selected" null           `desk.selection` has changed: {from_s, to_s, words} or null, a stretch that somebody chose (the
//                             rows set it; `words` says what it is, "tihai t03", and may be missing)
//   "looped"   null           `desk.loop` has changed: {from_s, to_s, words, on} or null, what is played again and again (the
//                             player sets it; the rows show it, paler while `on` is false)
//   "marked"   null           times in the marking panel have changed

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
  Object.assign(desk, { data, region, signal: ending.signal });
  tell("opened", { again });
}

// Whether a folded page is there: its region goes when another page is turned to.
export const isOpen = () => desk.region !== null && desk.region.isConnected;

export const byId = (id) => document.getElementById(id);

export function write(id, text) {
  const element = byId(id);
  if (element && element.textContent !== text) element.textContent = text;
}

export const say = (line) => write("said", line);
