"""What a browser really plays after a seek, by container and codec. Run by hand: ``python -m benchmarks.seeking``.

Every second of the test sound is a tone of its own pitch that stops after 0.8 s, so the pitch tells which second is
heard, and how long the tone lasts after a seek tells the place in it, to the sample and without reading any clock. The
first and every third minute have noise beside the tone, so that a variable bit rate varies.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import flask
import numpy as np
import soundfile
from numpy.typing import NDArray
from playwright.sync_api import Page, sync_playwright
from rich.console import Console
from rich.table import Table
from werkzeug.serving import make_server

from dashboard.sound import sound_routes

RATE_HZ = 44100
MINUTES = 10
LOWEST_HZ, STEP_HZ, TONE_S = 300.0, 5.0, 0.8
LISTENED_HZ = 48000
LISTENED_S = 0.85
SEEKS_S = (150.3, 300.3, 330.3, 470.3, 510.3)
"""In minutes without noise, whose edges are sharp."""

_LISTEN = """async ([source, start_s, listened_s, rate_hz]) => {
  const sound = new Audio(source);
  await new Promise((ready, failed) => {
    sound.onloadedmetadata = ready;
    sound.onerror = () => failed(new Error(sound.error.message));
  });
  const context = new AudioContext({ sampleRate: rate_hz });
  await context.resume();
  const keeper = `registerProcessor("keeper", class extends AudioWorkletProcessor {
    process(inputs) { if (inputs[0].length) this.port.postMessage(inputs[0][0].slice()); return true; }
  })`;
  await context.audioWorklet.addModule(URL.createObjectURL(new Blob([keeper], { type: "text/javascript" })));
  const node = new AudioWorkletNode(context, "keeper"), heard = [];
  node.port.onmessage = (event) => heard.push(...event.data);
  context.createMediaElementSource(sound).connect(node);
  sound.currentTime = start_s;
  await new Promise((done) => { sound.onseeked = done; });
  await sound.play();
  const until = performance.now() + 20000;
  while (heard.length < listened_s * rate_hz && performance.now() < until) {
    await new Promise((done) => setTimeout(done, 10));
  }
  sound.pause();
  await context.close();
  return [sound.duration, heard];
}"""


def tones(minutes: float, noisy: bool = True) -> NDArray[np.float32]:
    """The sound described above, mono at `RATE_HZ`."""
    time_s = np.arange(RATE_HZ) / RATE_HZ
    sounding = time_s < TONE_S
    random = np.random.default_rng(0)
    seconds = []
    for number in range(round(minutes * 60)):
        second = 0.3 * np.sin(2 * np.pi * (LOWEST_HZ + STEP_HZ * number) * time_s)
        if noisy and number // 60 % 3 == 0:
            second += 0.15 * random.normal(size=RATE_HZ)
        seconds.append((second * sounding).astype(np.float32))
    return np.concatenate(seconds)


def late_s(page: Page, url: str, start_s: float) -> tuple[float, float]:
    """Seek to a time in a page of the same origin and listen.

    Parameters
    ----------
    page : Page
        A page in which somebody has clicked: without that a browser plays nothing.
    url : str
        The sound.
    start_s : float
        A time at which the tone sounds.

    Returns
    -------
    tuple of float
        By how much what is heard is later in the sound than what was asked for (s), and the sound's length as the
        browser gives it (s).
    """
    duration_s, heard = page.evaluate(_LISTEN, [url, start_s, LISTENED_S, LISTENED_HZ])
    samples = np.asarray(heard)
    loud = np.flatnonzero(np.abs(samples) > 0.02)
    stops = np.flatnonzero(np.diff(loud) > 0.05 * LISTENED_HZ)
    tone = samples[loud[0] : loud[stops[0]] + 1 if len(stops) else loud[-1] + 1]
    spectrum = np.abs(np.fft.rfft(tone * np.hanning(len(tone)), 8 * len(tone)))
    pitch_hz = float(np.fft.rfftfreq(8 * len(tone), 1 / LISTENED_HZ)[spectrum.argmax()])
    second = round((pitch_hz - LOWEST_HZ) / STEP_HZ)
    return second + TONE_S - len(tone) / LISTENED_HZ - start_s, duration_s


def _encode(path: Path, sound: NDArray[np.float32], codec: str, **settings: str) -> Path:
    import av
    import soxr

    rate_hz = 48000 if codec == "libopus" else RATE_HZ
    samples = soxr.resample(sound, RATE_HZ, rate_hz)
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=rate_hz, layout="mono", options=settings)
        stream.codec_context.format = "flt" if codec == "libopus" else "fltp"
        stream.codec_context.open()
        size = stream.codec_context.frame_size
        for first in range(0, len(samples), size):
            piece = np.ascontiguousarray(samples[first : first + size])[None]
            frame = av.AudioFrame.from_ndarray(piece, format=stream.codec_context.format.name, layout="mono")
            frame.sample_rate, frame.pts = rate_hz, first
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def _write(path: Path, sound: NDArray[np.float32]) -> Path:
    with soundfile.SoundFile(path, "w", RATE_HZ, 1) as out:
        for first in range(0, len(sound), RATE_HZ):  # libsndfile's Vorbis writer cannot take much at once
            out.write(sound[first : first + RATE_HZ])
    return path


def _kinds(folder: Path, sound: NDArray[np.float32]) -> dict[str, Callable[[], Path]]:
    return {
        "FLAC": lambda: _write(folder / "sound.flac", sound),
        "Opus in Ogg (the listening copy)": lambda: _encode(folder / "sound.opus", sound, "libopus", b="64k"),
        "AAC in M4A": lambda: _encode(folder / "sound.m4a", sound, "aac", b="128k"),
        "Vorbis in Ogg": lambda: _write(folder / "sound.ogg", sound),
        "MP3, constant bit rate": lambda: _encode(folder / "constant.mp3", sound, "libmp3lame", b="128k"),
        "MP3, variable bit rate": lambda: _encode(
            folder / "variable.mp3", sound, "libmp3lame", flags="+qscale", global_quality=str(4 * 118)
        ),
    }


@contextmanager
def served_files(folder: Path) -> Iterator[str]:
    """Serve the sounds of a folder at ``/sound/<name>``; gives the address."""
    app = flask.Flask(__name__)
    app.register_blueprint(sound_routes(lambda name: folder / name))
    app.add_url_rule("/", view_func=lambda: "<h1>Seeking</h1>")
    server = make_server("127.0.0.1", 0, app, threaded=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


def main() -> None:
    """Print the table."""
    chromium = shutil.which("chromium")
    if chromium is None:
        sys.exit("Chromium is needed: apt-get install chromium")
    table = Table(title="By how many ms a browser plays too late a place after a seek")
    for column in ("kind", *(f"{start_s:g} s" for start_s in SEEKS_S)):
        table.add_column(column, justify="left" if column == "kind" else "right")
    sound = tones(MINUTES)
    with tempfile.TemporaryDirectory() as name, served_files(Path(name)) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--mute-audio"])
        for kind, make in _kinds(Path(name), sound).items():
            url = f"{address}/sound/{make().name}"
            page = browser.new_page()
            page.goto(address)
            page.click("h1")
            table.add_row(kind, *(f"{1000 * late_s(page, url, start_s)[0]:.0f}" for start_s in SEEKS_S))
            page.close()
        browser.close()
    Console().print(table)


if __name__ == "__main__":
    main()
