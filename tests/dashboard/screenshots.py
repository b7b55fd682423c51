"""Pictures of every page of the dashboard, as the sample performances fill it; also those that the README shows.

``python -m tests.dashboard.screenshots FOLDER [--archive ARCHIVE]`` writes ``<page>-<light|dark>-<width>.png`` for
windows of 1280 and 390 pixels; ``--whole`` takes pages down to their end; with ``--readme`` only the few that the
README shows, small, into ``docs/``. A second listener's phrases are added, so that there is an agreement to show.
"""

from __future__ import annotations

import argparse
import io
import logging
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from annotate.archive import Archive
from annotate.courses.course import Chapter, Course, new_key
from annotate.courses.shelf import Courses
from annotate.demo import take_in_samples
from annotate.marking import record_phrase
from annotate.proposals.proposing import propose
from annotate.revisions import withdraw
from dashboard.access.at_hand import Role
from dashboard.access.people import People
from tests import needs
from tests.conftest import ARGUMENTS
from tests.dashboard.conftest import served

CONCERT, OTHER = "desh-gat-in-teental", "bageshri-gat-in-jhaptal"
FORM = "tala=teental&longest=5&at=1&plays=Dha+Ti+Te+Ka+Dha&gap=1"
COURSE = "landing-on-sam"
NOTES = """Sing the palla before you play it, **once slow, once at the laya of the gat**.

# In this order

1. the palla alone, three times, on one string
2. with its dam, without the landing
3. all of it, *from sam to sam*

| laya | matras a minute | times |
|:--|--:|:-:|
| slow | 60 | 10 |
| as played | 132 | 5 |

> Your own teacher's way of counting comes first.
"""
LISTENER, PASSWORD = "Obeyan Rukhdal", "four grey herons"
HEARD_OTHERWISE = 3
"""Phrases of the samples that the second listener hears too, the last of them under another name."""


def _unfold(page: Page) -> None:
    page.click("#unfold")


def _open_marks(page: Page) -> None:
    page.locator("#marking summary", has_text="Saved marks").click()
    page.locator("#saved-marks .place", has_text="t01").first.click()


def _hear_it(page: Page) -> None:
    page.click("#sound")


def _mistype(page: Page) -> None:
    page.fill("#mark-palla", "R m X")
    page.fill("#mark-start-1", "half past")
    page.click("#save-tihai")


def _show_keys(page: Page) -> None:
    page.keyboard.press("?")


def _decide(page: Page) -> None:
    page.select_option("#proposals-status", "all")
    page.keyboard.press("n")
    page.wait_for_timeout(SETTLE_MS)
    page.keyboard.press("ArrowUp")


def _open_chapter(page: Page) -> None:
    page.get_by_role("button", name="Edit The palla").click()
    page.fill("#piece-find", "desh mukhra")


def _answer_wrongly(page: Page) -> None:
    page.fill("#answer-typed", "3")
    page.keyboard.press("Enter")
    page.wait_for_selector("#run svg")


def _clap(page: Page) -> None:
    """Clap with every matra as soon as the page shows it, until it is told how close it came."""
    page.evaluate(
        """() => new MutationObserver(() => {
          const key = new KeyboardEvent("keydown", { key: " ", bubbles: true, cancelable: true });
          if (/^\\d+$/.test(document.getElementById("clap-place").textContent)) document.body.dispatchEvent(key);
        }).observe(document.getElementById("clap-place"), { childList: true })"""
    )
    page.click("#clap-begin")
    page.wait_for_selector("#clap-drawing svg")


def _log_in(page: Page) -> None:
    page.fill("#name", LISTENER)
    page.fill("#password", PASSWORD)
    page.keyboard.press("Enter")


@dataclass(frozen=True)
class View:
    """What a picture shows: an address, what is done there first, and in which archive (a name of ARCHIVES)."""

    at: str
    act: Callable[[Page], None] | None = None
    archive: str = "samples"


VIEWS = {
    "concerts": View("/"),
    "concerts-empty": View("/", archive="empty"),
    "add": View("/add"),
    "details": View(f"/concerts/{CONCERT}"),
    "cycles": View(f"/cycles/{CONCERT}?at=45"),
    "cycles-unfolded": View(f"/cycles/{CONCERT}?at=5", _unfold),
    "cycles-marks": View(f"/cycles/{CONCERT}?at=33", _open_marks),
    "cycles-mistyped": View(f"/cycles/{CONCERT}?at=33", _mistype),
    "cycles-keys": View(f"/cycles/{CONCERT}?at=33", _show_keys),
    "proposals": View(f"/proposals/{CONCERT}", archive="found"),
    "proposals-decided": View(f"/proposals/{CONCERT}", _decide, archive="found"),
    "proposals-not-looked": View(f"/proposals/{OTHER}"),
    "learnt": View("/learnt"),
    "tihais": View("/tihais"),
    "tihais-empty": View("/tihais", archive="empty"),
    "tihai": View(f"/tihais/{CONCERT}/t02"),
    "phrases": View("/phrases?raga=desh"),
    "phrases-empty": View("/phrases", archive="empty"),
    "instances": View("/instances?raga=desh&of=swaras&item=R"),
    "side-by-side": View("/side-by-side?a=desh&b=bageshri"),
    "agreement": View(f"/agreement/{CONCERT}"),
    "agreement-nobody": View(f"/agreement/{OTHER}"),
    "ragas": View("/ragas"),
    "raga": View("/ragas/desh"),
    "compose": View(f"/compose?{FORM}"),
    "compose-heard": View(f"/compose?{FORM}", _hear_it),
    "compose-mistyped": View("/compose?tala=jhaptal&palla=R+X&at=1&plays=Dha+Zz&from=12&laya=9000"),
    "compose-nothing": View("/compose?tala=jhaptal&palla=R+G+m&dam_to=1"),
    "courses": View("/courses"),
    "course": View(f"/courses/{COURSE}"),
    "course-form": View(f"/courses/{COURSE}", _open_chapter),
    "practice": View("/practice?kinds=dam&level=3"),
    "practice-marked": View("/practice?kinds=dam&level=3", _answer_wrongly),
    "practice-archive": View("/practice?whose=archive&kinds=start"),
    "practice-mistyped": View("/practice?number=none&to=40"),
    "practice-empty": View("/practice?whose=archive", archive="empty"),
    "clap": View("/practice/clap?laya=240", _clap),
    "clap-recording": View(f"/practice/clap?whose=archive&sound=recording&piece={CONCERT}/t02"),
    "sheet": View(f"/practice/sheet/{CONCERT}/t02?tuning=G,D,A,E&sa=D4&played=1"),
    "sheet-devanagari": View(f"/practice/sheet/{OTHER}/t03?script=devanagari"),
    "sheet-mistyped": View("/practice/raga-sheet/desh?tuning=G,D,H"),
    "words": View("/words"),
    "login": View("/login", archive="people"),
    "reader": View(f"/login?to=/cycles/{CONCERT}", _log_in, archive="people"),
    "not-found": View(f"/cycles/{OTHER}-again"),
}
SIZES = ((1280, 900), (390, 844))
README = (
    ("concerts", False),
    ("cycles", False),
    ("tihai", True),
    ("proposals", False),
    ("compose", False),
    ("sheet", False),
)
"""Page, and whether it is shown dark."""
DOCS = Path(__file__).parents[2] / "docs"
COLOURS = 256
"""Of a picture in the README: flat colours and text need no more, and the file is half as large."""
SETTLE_MS = 1500


@dataclass(frozen=True)
class Photographer:
    """Takes pictures of served dashboards, one for each kind of archive."""

    browser: Browser
    addresses: dict[str, str]

    def take(self, name: str, width: int, height: int, *, dark: bool, whole: bool = False) -> bytes:
        """Return a picture of what a window shows of a page, as PNG; or of the whole page."""
        view = VIEWS[name]
        context = self.browser.new_context(
            viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light"
        )
        window = context.new_page()
        window.goto(self.addresses[view.archive] + view.at)
        _settled(window)
        if view.act is not None:
            view.act(window)
            _settled(window)
        picture = window.screenshot(full_page=whole)
        context.close()
        return picture


def _settled(window: Page) -> None:
    window.wait_for_selector("h1")
    window.wait_for_load_state("networkidle")
    window.wait_for_timeout(SETTLE_MS)


def main() -> None:
    """Write the pictures that are asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, help="where the pictures go")
    parser.add_argument("--archive", type=Path, help="an archive with the sample performances (default: made anew)")
    parser.add_argument("--readme", action="store_true", help="only those that the README shows, into docs/")
    parser.add_argument("--only", choices=VIEWS, nargs="+", default=[*VIEWS], metavar="PAGE", help="only these pages")
    parser.add_argument("--whole", action="store_true", help="each page down to its end")
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
        for page in options.only:
            for width, height in SIZES:
                for dark in (False, True):
                    name = f"{page}-{'dark' if dark else 'light'}-{width}.png"
                    taken = photographer.take(page, width, height, dark=dark, whole=options.whole)
                    _write(options.folder / name, taken)


@contextmanager
def _photographer(archive: Path | None) -> Iterator[Photographer]:
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright, ExitStack() as serving:
        places = _archives(Path(made), archive)
        browser = playwright.chromium.launch(executable_path=needs.chromium(), args=ARGUMENTS)
        yield Photographer(browser, {name: serving.enter_context(served(at)) for name, at in places.items()})
        browser.close()


def _archives(folder: Path, given: Path | None) -> dict[str, Path]:
    """Make the archives that are shown: with the samples, with people who log in, with a concert in which tihais were
    found and none is written down, and one with nothing in it.
    """
    places = {name: folder / name for name in ("samples", "people", "found", "empty")}
    if given is None:
        take_in_samples(Archive.open(places["samples"], create=True))
    else:
        shutil.copytree(given, places["samples"])
    archive = Archive.open(places["samples"])
    for number, phrase in enumerate(archive.state(CONCERT).phrases[:HEARD_OTHERWISE]):
        role = "a tan" if number == HEARD_OTHERWISE - 1 else phrase.role
        span = {"start_s": phrase.start_s + 0.04, "end_s": phrase.end_s - 0.1}
        record_phrase(archive, CONCERT, **span, swaras=phrase.swaras, role=role, who=LISTENER)
    _make_course(archive)
    shutil.copytree(places["samples"], places["people"])
    _propose(Path(shutil.copytree(places["samples"], places["found"])))
    People(Archive.open(places["people"])).add(LISTENER, Role.READER, PASSWORD)
    Archive.create(places["empty"])
    return places


def _make_course(archive: Archive) -> None:
    chapters = (
        Chapter(new_key(), "The palla", NOTES, (f"{CONCERT}/t01", f"{CONCERT}/t02", "raga:desh")),
        Chapter(new_key(), "The dam", "Count it as you count the palla.", (f"{CONCERT}/t04", f"{OTHER}/t02")),
        Chapter(new_key(), "Another tala", "", (f"{OTHER}/t03", f"{OTHER}/p03", f"{OTHER}/t99")),
    )
    courses = Courses(archive)
    courses.keep(Course("Landing on sam", "second year, mandolin", "CC-BY-NC-4.0", chapters), who=LISTENER)
    courses.keep(Course("First ragas", "beginners"), who=LISTENER)


def _propose(place: Path) -> None:
    archive = Archive.open(place)
    tihais = archive.state(CONCERT).tihais
    archive.commit(CONCERT, [withdraw("tihais", each.tihai) for each in tihais], "", "only what is heard")
    propose(archive, CONCERT)


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
