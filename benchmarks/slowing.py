"""How well sound is slowed down: by `ingest.slowing`, and by a browser. Run by hand: ``python -m benchmarks.slowing``.

Strokes half a second apart and a steady tone are played at 75, 50 and 25 %. Told are: how far a stroke begins from its
place (the constant delay of a browser taken away), how loud anything is beside it that was not struck, how far the tone
is from its pitch, and how many seconds of the sound as played are slowed in a second.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from playwright.sync_api import Page, sync_playwright
from rich.console import Console
from rich.table import Table

from benchmarks.seeking import served_files
from ingest.slowing import slowed

RATE_HZ = 48000
LENGTH_S = 12.0
TONE_HZ = 440.0
STRUCK_S = np.arange(1.0, LENGTH_S - 0.9, 0.5)
SPEEDS = (0.75, 0.5, 0.25)
Mono = NDArray[np.float32]

_LISTEN = """async ([source, speed, listened_s]) => {
  const sound = new Audio(source);
  await new Promise((ready) => { sound.oncanplaythrough = ready; });
  const context = new AudioContext({ sampleRate: 48000 });
  await context.resume();
  const keeper = `registerProcessor("keeper", class extends AudioWorkletProcessor {
    process(inputs) { if (inputs[0].length) this.port.postMessage([currentFrame, inputs[0][0].slice()]); return true; }
  })`;
  await context.audioWorklet.addModule(URL.createObjectURL(new Blob([keeper], { type: "text/javascript" })));
  const node = new AudioWorkletNode(context, "keeper"), heard = [];
  node.port.onmessage = ({ data: [frame, block] }) => heard.push([frame, Array.from(block)]);
  context.createMediaElementSource(sound).connect(node);
  sound.playbackRate = speed; // the pitch is kept unless one asks otherwise
  await sound.play();
  await new Promise((done) => setTimeout(done, listened_s * 1000));
  await context.close();
  return heard;
}"""


def strokes() -> Mono:
    """Strokes at `STRUCK_S`."""
    sound = np.zeros(round(LENGTH_S * RATE_HZ), np.float32)
    time_s = np.arange(1200) / RATE_HZ
    for struck_s in STRUCK_S:
        at = round(struck_s * RATE_HZ)
        sound[at : at + 1200] += (0.6 * np.exp(-time_s / 0.006) * np.sin(2 * np.pi * 1100 * time_s)).astype(np.float32)
    return sound


def tone() -> Mono:
    """A steady tone."""
    return (0.3 * np.sin(2 * np.pi * TONE_HZ * np.arange(round(LENGTH_S * RATE_HZ)) / RATE_HZ)).astype(np.float32)


def cents(heard: Mono) -> float:
    """How far the middle of a sound is from the tone's pitch."""
    middle = heard[len(heard) // 4 : 3 * len(heard) // 4]
    spectrum = np.abs(np.fft.rfft(middle * np.hanning(len(middle)), 1 << 22))
    return float(1200 * np.log2(spectrum.argmax() * RATE_HZ / (1 << 22) / TONE_HZ))


def off_and_beside(heard: Mono, speed: float) -> tuple[float, float]:
    """How far strokes begin from their places but for the median (ms), and what else is heard (dB); both worst."""
    level = np.abs(heard)
    begins_s, beside_db = [], []
    reach = round(0.2 / speed * RATE_HZ)
    for struck_s in STRUCK_S[1:-1]:
        place = round(struck_s / speed * RATE_HZ)
        near = level[max(place - reach, 0) : place + reach]
        if len(near) < reach or near.max() < 0.05:
            continue
        begin = int(np.flatnonzero(near > 0.2 * near.max())[0])
        begins_s.append((begin - reach) / RATE_HZ)
        peak = int(near.argmax())
        others = np.append(near[: max(peak - round(0.04 * RATE_HZ), 0)], near[peak + round(0.06 * RATE_HZ) :])
        beside_db.append(20 * np.log10(max(float(others.max()), 1e-6) / float(near.max())))
    return 1000 * float(np.abs(np.array(begins_s) - np.median(begins_s)).max()), float(np.max(beside_db))


def _ours(sound: Mono, speed: float) -> Mono:
    return slowed(sound[:, None], RATE_HZ, speed)[:, 0]


def _browser(page: Page, address: str, folder: Path) -> Callable[[Mono, float], Mono]:
    def play(sound: Mono, speed: float) -> Mono:
        name = f"{len(list(folder.iterdir()))}.wav"  # another name each time: the browser keeps what it has fetched
        soundfile.write(folder / name, sound, RATE_HZ)
        blocks = page.evaluate(_LISTEN, [f"{address}/sound/{name}", speed, LENGTH_S / speed + 1])
        heard = np.zeros(blocks[-1][0] - blocks[0][0] + 128, np.float32)
        for frame, block in blocks:
            heard[frame - blocks[0][0] : frame - blocks[0][0] + 128] = block
        loud = np.flatnonzero(np.abs(heard) > 0.02)
        first = float(np.flatnonzero(np.abs(sound) > 0.02)[0]) / speed
        return np.roll(heard, round(first) - int(loud[0]))  # the delay of the browser's start

    return play


def main() -> None:
    """Print the table."""
    chromium = shutil.which("chromium")
    if chromium is None:
        sys.exit("Chromium is needed: apt-get install chromium")
    table = Table(title="Slowed sound")
    for column in ("speed", "by", "strokes off by, ms", "beside them, dB", "tone off by, cents", "times as fast"):
        table.add_column(column, justify="left" if column == "by" else "right")
    with tempfile.TemporaryDirectory() as name, served_files(Path(name)) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--mute-audio"])
        page = browser.new_page()
        page.goto(address)
        page.click("h1")
        for speed in SPEEDS:
            for by, slow in (("ours", _ours), ("Chromium", _browser(page, address, Path(name)))):
                began_s = time.perf_counter()
                struck = slow(strokes(), speed)
                took_s = time.perf_counter() - began_s
                off_ms, beside_db = off_and_beside(struck, speed)
                fast = f"{LENGTH_S / took_s:.0f}" if by == "ours" else ""
                off = f"{cents(slow(tone(), speed)):.1f}"
                table.add_row(f"{100 * speed:.0f} %", by, f"{off_ms:.1f}", f"{beside_db:.0f}", off, fast)
        browser.close()
    Console().print(table)


if __name__ == "__main__":
    main()
