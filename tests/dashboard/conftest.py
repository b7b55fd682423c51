"""A small archive with sound and a straight grid, a served dashboard, and a browser that stays on this machine.

The concert is invented: rupak at half a second a matra, so every time in these tests can be worked out in the head. Sam
is at 4.0 s and then every 3.5 s; the sound is a click on each matra.
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cache
from pathlib import Path
from urllib.parse import urlparse

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, expect
from werkzeug.serving import make_server

from annotate.archive import Archive
from annotate.marking import mark_sams, record_phrase, record_tihai
from annotate.records import Recording, Section
from annotate.revisions import add
from dashboard.app import make_app

SLUG = "trial-in-rupak"
DURATION_S = 28.0
MATRA_S = 0.5
COMPLAINTS = ("error", "warning")
PATIENCE_MS = 30_000
"""How long browser tests wait for what is to come: as long as Playwright waits for all but expectations, for a busy
machine is to fail no test. One that passes is no slower for it."""
expect.set_options(timeout=PATIENCE_MS)
SAMS_S = [4.0 + 3.5 * cycle for cycle in range(7)]


def build_archive(folder: Path) -> Archive:
    """Make the archive: alap to 4 s, then a gat in rupak with two tihais, one that lands and one 200 ms late."""
    archive = Archive.create(folder)
    sound = folder / "recordings" / SLUG / "sound" / "listening.flac"
    sound.parent.mkdir(parents=True)
    _write_clicks(sound)
    recording = Recording(
        SLUG,
        "Trial in rupak",
        performed_on=date(2026, 3, 7),
        venue="an invented hall",
        raga="desh",
        tala="rupak",
        lead="mandolin",
        musicians=(("mandolin", "Nirvani Tolasar"), ("tabla", "Obeyan Rukhdal")),
        sa_hz=220.0,
        duration_s=DURATION_S,
        audio_path=str(sound.relative_to(folder)),
    )
    sections = [Section("alap", "alap", 0.0, 4.0), Section("gat", "gat", 4.0, DURATION_S, "rupak")]
    archive.commit(SLUG, [add(recording), *map(add, sections)], who="test", why="made for a test")
    mark_sams(archive, SLUG, SAMS_S, who="test")
    play_tihai(archive, start_s=7.5, late_s=0.012)
    play_tihai(archive, start_s=18.0, late_s=0.2)
    for start_s, swaras, role in ((1.0, "R m G R", "alap"), (4.0, "R m P", "mukhra"), (14.5, "R m P", "mukhra")):
        record_phrase(archive, SLUG, start_s=start_s, end_s=start_s + 1.5, swaras=swaras, role=role)
    return archive


def play_tihai(archive: Archive, start_s: float, late_s: float) -> None:
    """Write down a bedam tihai of 5 matras from sam, two avartans long: 5 + 5 + 5 = 15 = 2 x 7 + 1."""
    record_tihai(
        archive,
        SLUG,
        palla_s=[start_s + 2.5 * i for i in range(3)],
        landing_s=start_s + 7.0 + late_s,
        palla="R m P N S'",
        dam=Fraction(0),
        start=Fraction(1),
        played_by="mandolin",
        status="confirmed",
    )


def _write_clicks(path: Path) -> None:
    rate_hz = 22050
    sound = np.zeros(int(DURATION_S * rate_hz), dtype=np.float32)
    click = np.exp(-np.arange(600) / 90) * np.sin(np.arange(600) * 0.3)
    for start_s in np.arange(4.0, DURATION_S - 0.1, MATRA_S):
        at = round(start_s * rate_hz)
        sound[at : at + 600] += 0.3 * click.astype(np.float32)
    soundfile.write(path, sound, rate_hz)


@pytest.fixture(scope="session")
def finished_archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive for tests that only look."""
    folder = tmp_path_factory.mktemp("archive")
    build_archive(folder)
    return folder


@pytest.fixture
def own_archive(finished_archive: Path, tmp_path: Path) -> Path:
    """A copy of the archive for a test that writes."""
    return Path(shutil.copytree(finished_archive, tmp_path / "archive"))


@contextmanager
def served(archive_path: Path) -> Iterator[str]:
    """Serve an archive on a free port; gives the address. (The server of the product has a test of its own.)"""
    server = make_server("127.0.0.1", 0, make_app(archive_path).server, threaded=True)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


@pytest.fixture(scope="session")
def address(finished_archive: Path) -> Iterator[str]:
    """The address of a dashboard that tests only look at."""
    with served(finished_archive) as url:
        yield url


@pytest.fixture
def own_address(own_archive: Path) -> Iterator[str]:
    """The address of a dashboard that a test writes through."""
    with served(own_archive) as url:
        yield url


@dataclass
class Window:
    """A page of the browser, with everything it complained about and every address it asked for."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


@pytest.fixture(scope="session")
def contexts(browser: Browser) -> Callable[..., BrowserContext]:
    """Give the browser context of a size and colour scheme; each is kept, so that packages are fetched once."""

    @cache
    def context(width: int, height: int, dark: bool) -> BrowserContext:
        size: ViewportSize = {"width": width, "height": height}
        return browser.new_context(viewport=size, color_scheme="dark" if dark else "light")

    return context


@pytest.fixture
def window(contexts: Callable[..., BrowserContext]) -> Iterator[Callable[..., Window]]:
    """Open windows; after the test each must have been free of errors and have asked only this machine."""
    opened: list[Window] = []

    def open_window(url: str, *, width: int = 1280, height: int = 800, dark: bool = False) -> Window:
        it = Window(contexts(width, height, dark).new_page())
        opened.append(it)
        it.page.on("console", lambda said: it.complaints.append(said.text) if said.type in COMPLAINTS else None)
        it.page.on("pageerror", lambda error: it.complaints.append(str(error)))
        it.page.on("request", lambda request: it.asked.append(request.url))
        it.page.goto(url)
        it.page.wait_for_selector("h1")
        return it

    yield open_window
    for it in opened:
        it.page.close()
        assert it.complaints == []
        hosts = {urlparse(url).hostname for url in it.asked if not url.startswith(("data:", "blob:"))}
        assert hosts == {"127.0.0.1"}, "a request left the machine"
