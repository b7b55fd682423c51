// Buttons that play one instance of what a number counts (`data-hear`: the address of its sound): one at a time, pressed again
// it stops. An address with #t=from,to is a stretch of a longer sound, which ends where it says.
const sound = new Audio();
let pressed = null;

sound.addEventListener("ended", release);
sound.addEventListener("pause", () => sound.paused && release()); // the word of it comes late: another may play by now
sound.addEventListener("error", () => pressed && fail());

export async function press(button) {
  const again = pressed === button;
  release();
  sound.pause();
  if (again) return;
  pressed = button;
  button.setAttribute("aria-pressed", "true");
  sound.src = button.dataset.hear;
  try {
    await sound.play();
  } catch (error) {
    if (error.name !== "AbortError" && pressed === button) fail();
  }
}

function fail() {
  const button = pressed;
  release();
  button.disabled = true;
  button.title = "The sound of this place cannot be had.";
}

function release() {
  pressed?.setAttribute("aria-pressed", "false");
  pressed = null;
}
