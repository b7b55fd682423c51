"""Pictures of every page of the dashboard, as the sample performances fill it; also those that the README shows.

``python -m tests.dashboard.screenshots FOLDER [--archive ARCHIVE]`` writes ``<page>-<light|dark>-<width>.png`` for
windows of 1280 and 390 pixels; with ``--readme`` only the few that the README shows, small, into ``docs/``.
"""

from __future__ import annotations

import argparse
import io
import logging
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from annotate.archive import Archive
from annotate.demo import take_in_samples
from tests import needs
from tests.dashboard.conftest import ARGUMENTS, served

CONCERT, OTHER = "desh-gat-in-teental", "bageshri-gat-in-jhaptal"
FORM = "tala=teental&longest=5&at=1&plays=Dha+Ti+Te+Ka+Dha&gap=1"
PAGES = {
    "concerts": "/",
    "add": "/add",
    "details": f"/concerts/{CONCERT}",
    "cycles": f"/cycles/{CONCERT}?at=33",
    "tihais": "/tihais",
    "tihai": f"/tihais/{CONCERT}/t02",
    "phrases": "/phrases?raga=desh",
    "ragas": "/ragas/desh",
    "compose": f"/compose?{FORM}",
    "words": "/words",
    "not-found": f"/cycles/{OTHER}-again",
}
SIZES = ((1280, 900), (390, 844))
README = (("concerts", False), ("cycles", False), ("tihai", True), ("compose", False))
"""Page, and whether it is shown dark."""
DOCS = Path(__file__).parents[2] / "docs"
COLOURS = 256
"""Of a picture in the README: flat colours and text need no more, and the file is half as large."""
SETTLE_MS = 1500


@dataclass(frozen=True)
class Photographer:
    """Takes pictures of a served dashboard."""

    browser: Browser
    address: str

    def take(self, page: str, width: int, height: int, *, dark: bool) -> bytes:
        """Return a picture of what a window shows of a page, as PNG."""
        context = self.browser.new_context(
            viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light"
        )
        window = context.new_page()
        window.goto(self.address + PAGES[page])
        window.wait_for_selector("h1")
        window.wait_for_load_state("networkidle")
        window.wait_for_timeout(SETTLE_MS)
        picture = window.screenshot()
        context.close()
        return picture


def main() -> None:
    """Write the pictures that are asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, help="where the pictures go")
    parser.add_argument("--archive", type=Path, help="an archive with the sample performances (default: made anew)")
    parser.add_argument("--readme", action="store_true", help="only those that the README shows, into docs/")
    parser.add_argument("--only", choices=PAGES, help="only this page")
    options = parser.parse_args()
    if not options.readme and options.folder is None:
        parser.error("Name a folder for the pictures, or --readme.")
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    with _photographer(options.archive) as photographer:
        if options.readme:
            DOCS.mkdir(exist_ok=True)
            for page, dark in README:
                _write(DOCS / f"{page}.png", _small(photographer.take(page, *SIZES[0], dark=dark)))
            return
        options.folder.mkdir(parents=True, exist_ok=True)
        for page in [options.only] if options.only else PAGES:
            for width, height in SIZES:
                for dark in (False, True):
                    name = f"{page}-{'dark' if dark else 'light'}-{width}.png"
                    _write(options.folder / name, photographer.take(page, width, height, dark=dark))


@contextmanager
def _photographer(archive: Path | None) -> Iterator[Photographer]:
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        place = archive or Path(made) / "archive"
        if archive is None:
            take_in_samples(Archive.open(place, create=True))
        browser = playwright.chromium.launch(executable_path=needs.chromium(), args=ARGUMENTS)
        with served(place) as address:
            yield Photographer(browser, address)
        browser.close()


def _small(picture: bytes) -> bytes:
    image = (
        Image.open(io.BytesIO(picture))
        .convert("RGB")
        .quantize(COLOURS, Image.Quantize.MAXCOVERAGE, kmeans=3, dither=Image.Dither.NONE)
    )
    small = io.BytesIO()
    image.save(small, "PNG", optimize=True)
    return small.getvalue()


def _write(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    print(f"{path.name}: {len(content) / 1000:.0f} kB")


if __name__ == "__main__":
    main()
