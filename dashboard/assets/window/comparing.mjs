// Buttons that play stretches of the page's recording one after the other (`data-plays`), at the speed that is set; pressed
// again they stop. The row of the figure that sounds is told by the button alone, which stays pressed.
import { readPassages } from "../passages.mjs";
import { say } from "./desk.mjs";
import { pause, playPassage } from "./player.mjs";
import { preferences } from "./preferred.mjs";

let pressed = null;

export async function press(button) {
  const again = pressed === button;
  if (pressed !== null) {
    release();
    pause();
  }
  if (again) return;
  pressed = button;
  button.setAttribute("aria-pressed", "true");
  for (const { from_s, to_s } of readPassages(button.dataset.plays)) {
    const heard = await playPassage(from_s, to_s, { speed: preferences.speed });
    if (pressed !== button) return;
    if (!heard) break;
    say("");
  }
  if (pressed === button) release();
}

function release() {
  pressed?.setAttribute("aria-pressed", "false");
  pressed = null;
}
