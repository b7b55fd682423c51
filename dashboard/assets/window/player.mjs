// The player: the page's sound, its button and its clock. Times in seconds from the start of the recording.
import { formatClock } from "../clock.mjs";
import { byId, desk, isOpen, on, say, tell, write } from "./desk.mjs";
import { bind } from "./keyboard.mjs";

export const sound = () => byId("player");
export const now = () => sound()?.currentTime ?? 0;
export const isPlaying = () => sound() !== null && !sound().paused;

export function seek(time_s) {
  const player = sound();
  if (!player) return;
  player.currentTime = Math.max(time_s, 0);
  tell("moved", player.currentTime);
}

export function toggle() {
  const player = sound();
  if (!player) return;
  if (!player.paused) return player.pause();
  const { passage } = desk.data;
  const outside = passage && (player.currentTime < passage.from_s || player.currentTime >= passage.to_s - 0.05);
  if (outside) player.currentTime = passage.from_s;
  player.play().catch(() => say("The sound could not be started."));
}

// Asked at every frame and at every report of the player: frames stop in a window that is not looked at.
function endPassage() {
  const player = sound();
  const passage = desk.data?.passage;
  if (!passage || !player || player.paused || player.currentTime < passage.to_s) return;
  player.pause();
  player.currentTime = passage.to_s;
}

function run() {
  if (!isOpen() || !isPlaying()) return;
  endPassage();
  tell("moved", now());
  requestAnimationFrame(run);
}

function showState() {
  const button = byId("play");
  const playing = isPlaying();
  button.dataset.playing = String(playing);
  button.setAttribute("aria-label", playing ? "Pause" : "Play");
  button.setAttribute("aria-pressed", String(playing));
  tell("playing", playing);
}

on("opened", () => {
  const player = sound();
  if (!player || !byId("play")) return;
  const { signal } = desk;
  byId("play").addEventListener("click", toggle, { signal });
  for (const kind of ["play", "pause", "ended"]) player.addEventListener(kind, showState, { signal });
  for (const kind of ["seeked", "loadedmetadata"]) player.addEventListener(kind, () => tell("moved", now()), { signal });
  player.addEventListener("timeupdate", endPassage, { signal });
  player.addEventListener("error", () => say("The sound cannot be played in this browser."), { signal });
  player.addEventListener("play", () => requestAnimationFrame(run), { signal });
  showState();
  showClock(now());
});

on("moved", showClock);

function showClock(time_s) {
  write("clock", `${formatClock(time_s)} / ${formatClock(desk.data.duration_s)}`);
}

bind("Listen", [{ key: "Space", words: "play or pause", act: toggle, when: () => sound() !== null }]);
