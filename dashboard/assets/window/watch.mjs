// Another window, or the command line, may edit the recording that is shown: now and then, and when the window is looked at
// again, the server is asked whether there is a new revision (304 when there is none).
import { desk, isOpen, on } from "./desk.mjs";
import { refresh } from "./folded.mjs";

const EVERY_MS = 1500; // an unchanged recording is answered in half a millisecond

const look = () => !document.hidden && isOpen() && refresh();

on("opened", () => {
  const timer = setInterval(look, EVERY_MS);
  desk.signal.addEventListener("abort", () => clearInterval(timer));
  document.addEventListener("visibilitychange", look, { signal: desk.signal });
  addEventListener("focus", look, { signal: desk.signal });
});
