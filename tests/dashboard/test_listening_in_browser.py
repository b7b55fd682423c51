"""The listening copy in a real browser, behind the dashboard's own server: its length and every place are right."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import av
import pytest
import soundfile
from playwright.sync_api import Browser

from annotate.archive import Archive
from annotate.revisions import change
from benchmarks.seeking import RATE_HZ, late_s, tones
from ingest.listen import Sound, listen
from tests.dashboard.conftest import SLUG, Window, build_archive, served

pytestmark = pytest.mark.browser

MINUTES = 2.0
PLACES_S = (60.3, 114.3)
TOLERANCE_S = 0.001  # where the tone falls below a threshold after its end; measured 0.02 ms


def _m4a(source: Path, path: Path) -> Path:
    with av.open(str(source)) as sound, av.open(str(path), "w", format="mp4") as out:
        target = out.add_stream("aac", rate=RATE_HZ, layout="mono")
        target.bit_rate = 128_000
        fitting = av.AudioResampler("fltp", "mono", RATE_HZ, frame_size=1024)
        for frame in sound.decode(audio=0):
            for piece in fitting.resample(frame):
                out.mux(target.encode(piece))
        for piece in fitting.resample(None):
            out.mux(target.encode(piece))
        out.mux(target.encode(None))
    return path


@pytest.fixture(scope="module", params=["copy of a FLAC file", "copy of an M4A file"])
def address(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A dashboard whose concert has the listening copy of two minutes of tones."""
    folder = tmp_path_factory.mktemp("listening")
    source = folder / "tones.flac"
    soundfile.write(source, tones(MINUTES, noisy=False), RATE_HZ)
    if "M4A" in request.param:
        source = _m4a(source, folder / "tones.m4a")
    archive = build_archive(folder / "archive")
    copy = listen(Sound((source,)), archive.folder(SLUG) / "sound", SLUG).copy
    assert copy is not None
    recording = replace(Archive.open(archive.path).state(SLUG).recording, duration_s=60 * MINUTES)
    archive.commit(SLUG, [change(replace(recording, audio_path=str(copy.relative_to(archive.path))))], "test", "sound")
    with served(archive.path) as url:
        yield url


def test_the_player_knows_the_length_and_goes_to_the_middle(address: str, window: Callable[..., Window]) -> None:
    page = window(f"{address}/cycles/{SLUG}").page
    page.wait_for_function("() => document.getElementById('player').readyState >= 1")
    duration_s = page.evaluate("document.getElementById('player').duration")
    assert duration_s == pytest.approx(60 * MINUTES, abs=0.03)  # a frame of AAC; the browser counts Opus's pre-skip in
    page.evaluate("document.getElementById('player').currentTime = 60")
    page.wait_for_function("() => !document.getElementById('player').seeking")
    page.locator("body").press(" ")
    page.wait_for_function("() => document.getElementById('player').currentTime > 60.2")
    page.locator("body").press(" ")


@pytest.mark.parametrize("place_s", PLACES_S)
def test_after_a_seek_that_place_is_heard(address: str, browser: Browser, place_s: float) -> None:
    context = browser.new_context(bypass_csp=True)  # what keeps what is heard is the test's code, which pages keep out
    page = context.new_page()
    page.goto(f"{address}/cycles/{SLUG}")
    page.click("h1")
    late, _ = late_s(page, f"{address}/sound/{SLUG}", place_s)
    context.close()
    assert late == pytest.approx(0, abs=TOLERANCE_S)
