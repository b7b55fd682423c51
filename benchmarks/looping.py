"""How exactly a part of a sound goes round in a page opened from the disk, in two ways. By hand:
``python -m benchmarks.looping``.

An ``audio`` element is set back to the beginning of the part at its end, which is looked for at every frame that is
drawn. Decoded sound is looped by its own node. Of both it is measured how much longer a round takes than it should.
"""

from __future__ import annotations

import base64
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import Page, sync_playwright

from ingest.sound_writing import RATE_HZ, write_sound_file

BEGIN_S, END_S, ROUNDS = 1.0, 2.5, 12
PAGE = """<!DOCTYPE html><title>Looping</title>
<audio src="sound.mp3" preload="auto"></audio><script src="sound.js"></script>"""

ELEMENT = """async ([begin_s, end_s, rounds]) => {
  const audio = document.querySelector("audio");
  audio.currentTime = begin_s;
  await audio.play();
  const turned = [];
  while (turned.length <= rounds) {
    await new Promise(requestAnimationFrame);
    if (audio.currentTime < end_s) continue;
    audio.currentTime = begin_s;
    await new Promise((done) => { audio.onseeked = done; });
    turned.push(performance.now());
  }
  audio.pause();
  return turned.slice(1).map((at, round) => at - turned[round] - 1000 * (end_s - begin_s));
}"""

DECODED = """async ([begin_s, end_s, rounds, rate]) => {
  const length = Math.round((end_s - begin_s) * rate);
  const context = new OfflineAudioContext(1, length * rounds, rate);
  const bytes = Uint8Array.from(atob(sound), (letter) => letter.charCodeAt(0));
  const source = context.createBufferSource();
  Object.assign(source, { loop: true, loopStart: begin_s, loopEnd: begin_s + length / rate });
  source.buffer = await context.decodeAudioData(bytes.buffer);
  source.connect(context.destination);
  source.start(0, begin_s);
  const heard = (await context.startRendering()).getChannelData(0);
  const peaks = []; // the loudest sample of every round is the stroke in it
  for (let round = 0; round < rounds; round += 1) {
    const samples = heard.subarray(round * length, (round + 1) * length);
    const loudest = samples.reduce((best, each, at) => (Math.abs(each) > Math.abs(samples[best]) ? at : best), 0);
    peaks.push((1000 * (round * length + loudest)) / rate);
  }
  return peaks.slice(1).map((at, round) => at - peaks[round] - (1000 * length) / rate);
}"""


def main() -> None:
    """Measure both, and print the mean and the largest difference of a round in milliseconds."""
    chromium = shutil.which("chromium")
    if chromium is None:
        sys.exit("needs a browser: apt-get install chromium")
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        _write(folder)
        browser = playwright.chromium.launch(
            executable_path=chromium,
            args=["--no-sandbox", "--mute-audio", "--autoplay-policy=no-user-gesture-required"],
        )
        page = browser.new_page()
        page.goto((folder / "index.html").as_uri())
        _tell(page, "audio element, set back", ELEMENT, [BEGIN_S, END_S, ROUNDS])
        _tell(page, "decoded sound, looped", DECODED, [BEGIN_S, END_S, ROUNDS, RATE_HZ])
        browser.close()


def _write(folder: Path) -> None:
    """Write a page, and a sound with one stroke in the part."""
    sound = np.zeros((4 * RATE_HZ, 2), np.float32)
    stroke = 0.5 * np.exp(-np.arange(9600) / 900) * np.sin(np.arange(9600) * 0.1)
    sound[int(1.3 * RATE_HZ) :][:9600] = stroke[:, None]
    write_sound_file([sound], folder / "sound.mp3", {}, mono=True)
    text = base64.b64encode((folder / "sound.mp3").read_bytes()).decode()
    (folder / "sound.js").write_text(f'const sound = "{text}";\n')
    (folder / "index.html").write_text(PAGE)


def _tell(page: Page, what: str, script: str, how: list[Any]) -> None:
    off_ms = np.array(page.evaluate(script, how))
    print(f"{what}: a round takes {off_ms.mean():+.1f} ms on average, {np.abs(off_ms).max():.1f} ms at most")


if __name__ == "__main__":
    main()
