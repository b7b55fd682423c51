"""Speed of the dashboard in a real browser, printed as a table: ``python -m benchmarks.dashboard --archive FOLDER``.

The archive has 500 performances: 499 made up (:mod:`benchmarks.large_archive`) and a concert of an hour, the Desh
sample over and over (:func:`benchmarks.ingest.long_recording`), taken in by ``layakosh ingest`` and then annotated: the
sample's tihais and phrases stand in each of its repetitions. It is made in the folder when there is none yet, which
takes some minutes. The dashboard is served by ``layakosh serve`` in a process of its own; Chromium (Debian package) is
driven by Playwright, with a window of 1280 by 900 and, for each page, an empty cache.

Every function of :data:`MEASURED` measures one thing and gives lines of the table; to add some, write another.
"""

from __future__ import annotations

import argparse
import csv
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from importlib.resources import as_file, files
from itertools import cycle
from pathlib import Path
from urllib.request import urlopen

import soundfile
from playwright.sync_api import Browser, Page, sync_playwright
from rich.console import Console
from rich.table import Table

from annotate.archive import Archive
from annotate.records import MarkedSam
from annotate.revisions import add, change
from annotate.statistics.usage import ragas_played
from annotate.tables_in import load
from benchmarks import large_archive
from benchmarks.ingest import long_recording
from tests import needs

SLUG = "60-minutes"
MINUTES = 60
OTHERS, THEIR_ROWS = 499, 50_000
WINDOW = {"width": 1280, "height": 900}
SCROLLED_S = 8.0
WHEEL_PX = 120
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
REFRESHES = 9
PEOPLE = 5


@dataclass(frozen=True)
class Line:
    """A line of the table: what was measured, what came out, and what it should be."""

    what: str
    value: str
    target: str = ""


@dataclass(frozen=True)
class Bench:
    """What a measurement is given: the served archive and a browser."""

    archive: Archive
    address: str
    server: subprocess.Popen[bytes]
    browser: Browser

    @contextmanager
    def window(self) -> Iterator[Page]:
        """A window with an empty cache."""
        context = self.browser.new_context(viewport=WINDOW)  # type: ignore[arg-type] # a plain dict of the two
        page = context.new_page()
        page.set_default_timeout(60_000)
        yield page
        context.close()


# -- the archive -------------------------------------------------------------------------------------------------------


def archive_at(folder: Path) -> Archive:
    """Open the archive in a folder, made there when it is missing."""
    if not (folder / "archive.toml").exists():
        large_archive.make(folder, OTHERS, THEIR_ROWS)
    archive = Archive.open(folder)
    if SLUG not in archive:
        with tempfile.TemporaryDirectory() as place:
            sound = long_recording(Path(place), MINUTES, 44100, 2)
            told = ["--raga", "Desh", "--tala", "teental", "--archive", str(folder)]
            subprocess.run([sys.executable, "-m", "layakosh", "ingest", str(sound), *told], check=True)
            _annotate(archive, Path(place))
    return archive


def _annotate(archive: Archive, place: Path) -> None:
    with as_file(files("sample_data")) as samples:
        length_s = soundfile.info(samples / "desh_teental.ogg").duration
        for table in ("tihais", "phrases"):
            with (samples / f"desh_teental_{table}.csv").open(newline="") as source:
                rows = list(csv.DictReader(source))
            with (place / f"{table}.csv").open("w", newline="") as out:
                writer = csv.DictWriter(out, [name for name in rows[0] if name != table.removesuffix("s")])
                writer.writeheader()
                for number in range(int(60 * MINUTES // length_s)):
                    writer.writerows(_later(row, number * length_s, writer.fieldnames) for row in rows)
    load(archive, SLUG, tihais=place / "tihais.csv", phrases=place / "phrases.csv", who="benchmark")


def _later(row: dict[str, str], by_s: float, names: object) -> dict[str, str]:
    moved = {name: f"{float(text) + by_s:.3f}" if name.endswith("_s") and text else text for name, text in row.items()}
    return {name: moved[name] for name in names}  # type: ignore[attr-defined] # the writer's own field names


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """Serve an archive on a free port, in a process of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "layakosh", "serve", "--archive", str(folder), "--port", str(port)]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    try:
        while process.poll() is None:  # an archive just made is indexed first, which takes its time
            try:
                urlopen(address, timeout=5).close()
                break
            except OSError:
                time.sleep(0.1)
        yield address, process
    finally:
        process.terminate()
        process.wait()


# -- what is measured --------------------------------------------------------------------------------------------------

PAGES = {
    "/": "main table, main .card, main li",
    f"/cycles/{SLUG}": "#fold .avartan-body .treble",
    "/tihais": "main table tbody tr",
    f"/tihais/{SLUG}/t01": "#fold .avartan-body .treble",
    "/phrases": "main table tbody tr",
    "/ragas": "main table tbody tr",
    "/ragas/desh": "main .by-the-sources dd",
    "/side-by-side?a=desh&b=bageshri&of=swaras": "main .drawing svg .interval",
    "/compose": "#found-heading",
    f"/concerts/{SLUG}": "main form input",
    f"/agreement/{SLUG}": "main table tbody tr, main .empty",
}
"""Addresses, and what has to be drawn for the page to be of use."""

_SEEN = """([selector, most_ms]) => new Promise(done => {
  const look = () => {
    if (document.querySelector(selector)) requestAnimationFrame(() => setTimeout(() => done(performance.now())));
    else if (performance.now() > most_ms) done(null);
    else requestAnimationFrame(look);
  };
  look();
})"""
LONGEST_MS = 20_000


def opening(bench: Bench) -> Iterator[Line]:
    """From the address to what can be used, and what travels until then; the second time the server has it at hand."""
    for address, selector in PAGES.items():
        times, until, after = [], [], []
        for _ in range(3):
            with bench.window() as page:
                travelled = _sizes(page)
                page.goto(bench.address + address, wait_until="commit")
                took_ms = page.evaluate(_SEEN, [selector, LONGEST_MS])
                times.append(f"{took_ms:.0f} ms" if took_ms is not None else f"not in {LONGEST_MS / 1000:.0f} s")
                page.wait_for_timeout(20)  # word of what has arrived
                until.append(sum(travelled.values()))
                page.wait_for_timeout(1500)
                for chart in page.locator(".chart").all():
                    chart.scroll_into_view_if_needed()
                    chart.locator(".main-svg").first.wait_for()
                after.append(sum(travelled.values()) - until[-1])
        own = sum(size for url, size in travelled.items() if "/_dash-component-suites/" not in url)
        yield Line(f"{address}: first useful paint, three times", ", ".join(times), "1500 ms")
        yield Line(
            f"{address}: payload until then; after it, with all figures; of all the page's own",
            f"{max(until) / 1000:.0f} kB; {max(after) / 1000:.0f} kB; {own / 1000:.0f} kB",
            "600 kB",
        )


def _sizes(page: Page) -> dict[str, int]:
    """Bytes of each address as they travelled, without sound, filled in while the page loads."""
    sizes: dict[str, int] = {}
    urls: dict[str, str] = {}
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.on("Network.requestWillBeSent", lambda told: urls.update({told["requestId"]: told["request"]["url"]}))

    def arrived(told: dict[str, object]) -> None:
        url = urls.get(str(told["requestId"]), "")
        if "/sound/" not in url and "/passage" not in url:
            sizes[url] = sizes.get(url, 0) + int(str(told["encodedDataLength"]).partition(".")[0])

    session.on("Network.loadingFinished", arrived)
    return sizes


_FRAMES = """() => {
  window.frames_ms = [];
  let before = performance.now();
  const count = now => {
    window.frames_ms.push(now - before);
    before = now;
    window.counting = requestAnimationFrame(count);
  };
  window.counting = requestAnimationFrame(count);
}"""


def _settled(page: Page) -> None:
    page.wait_for_selector("#fold .avartan-drawing")
    page.evaluate("import('/assets/window/folded.mjs').then(module => { window.folded = module; })")
    page.wait_for_function("() => window.folded?.isSettled()")


def scrolling(bench: Bench) -> Iterator[Line]:
    """Wheel steps over the rows of the hour, as fast as a hand turns it; frames counted in the window."""
    with bench.window() as page:
        page.goto(f"{bench.address}/cycles/{SLUG}")
        _settled(page)
        yield _weight(page, "at first")
        page.mouse.move(500, 650)
        for name, keys in (("an avartan a row", ""), ("4 avartans a row", "xx"), ("a matra a row", "zzzzz")):
            for key in keys:
                page.keyboard.press(key)
            page.evaluate("document.getElementById('fold').scrollTop = 0")
            _settled(page)
            page.evaluate(_FRAMES)
            start_s = time.perf_counter()
            while time.perf_counter() - start_s < SCROLLED_S:
                page.mouse.wheel(0, WHEEL_PX)
                time.sleep(0.03)
            frames_ms = page.evaluate("() => { cancelAnimationFrame(window.counting); return window.frames_ms; }")
            px = page.evaluate("document.getElementById('fold').scrollTop")
            late = sorted(frames_ms)[int(0.95 * len(frames_ms))]
            yield Line(
                f"scrolling, {name}: frames a second; 95 % of frames within; px a second",
                f"{1000 / statistics.mean(frames_ms):.0f}; {late:.0f} ms; {px / SCROLLED_S:.0f}",
                "50",
            )
        for key in "xxx":
            page.keyboard.press(key)
        page.evaluate(
            """async () => {
              const fold = document.getElementById('fold');
              for (let top = 0; top < fold.scrollHeight; top += fold.clientHeight) {
                fold.scrollTop = top;
                await new Promise(done => setTimeout(done, 60));
              }
            }"""
        )
        _settled(page)
        yield _weight(page, "after scrolling through all of it")


def _weight(page: Page, when: str) -> Line:
    session = page.context.new_cdp_session(page)
    session.send("HeapProfiler.collectGarbage")
    session.send("Performance.enable")
    metrics = {each["name"]: each["value"] for each in session.send("Performance.getMetrics")["metrics"]}
    elements = page.evaluate("document.querySelectorAll('*').length")
    return Line(f"memory of the window {when}: heap; elements", f"{metrics['JSHeapUsedSize'] / 1e6:.0f} MB; {elements}")


def refreshing(bench: Bench) -> Iterator[Line]:
    """A sam is moved by 10 ms by somebody else; then the page is told to look."""
    archive = bench.archive
    section = archive.grid(SLUG).sections[len(archive.grid(SLUG).sections) // 2]
    key = next((each.sam for each in archive.state(SLUG).marked_sams if each.section == section.section), None)
    if key is None:
        (key,) = archive.state(SLUG).next_keys("sams", 1)
        mark = MarkedSam(key, section.section, float(section.sam_s[4]), int(section.sam_cycle[4]))
        archive.commit(SLUG, [add(mark)], "benchmark", "a sam marked")
    mark = next(each for each in archive.state(SLUG).marked_sams if each.sam == key)
    commits_ms, refreshes_ms, rows = [], [], []
    with bench.window() as page:
        page.goto(f"{bench.address}/cycles/{SLUG}?at={mark.sam_s:.2f}")
        _settled(page)
        asked: list[str] = []
        for number in range(REFRESHES):
            moved = replace(mark, sam_s=mark.sam_s + (0.01 if number % 2 == 0 else 0.0))
            begin_s = time.perf_counter()
            archive.commit(SLUG, [change(moved)], "benchmark", "a sam moved")
            commits_ms.append(1000 * (time.perf_counter() - begin_s))
            if number == REFRESHES - 1:
                page.on("request", lambda request: asked.append(request.url))
            took_ms, changed = page.evaluate(
                """async () => {
                  const begin = performance.now();
                  const changed = await window.folded.refresh();
                  while (!window.folded.isSettled()) await new Promise(requestAnimationFrame);
                  return [performance.now() - begin, changed];
                }"""
            )
            refreshes_ms.append(took_ms)
            rows.append(changed)
    yield Line("a sam moved: written to the archive, median", f"{statistics.median(commits_ms):.0f} ms")
    yield Line(
        "a sam moved: fetched and drawn in view, median; worst",
        f"{statistics.median(refreshes_ms):.0f} ms; {max(refreshes_ms):.0f} ms",
        "300 ms",
    )
    yield Line("a sam moved: rows that change, of all; requests", f"{rows[-1]} of {_rows_of(bench)}; {len(asked)}")


_MOVED = """async key => {
  const begin = performance.now();
  const drawn = new Promise(done => window.desk.on("renewed", done));
  document.body.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
  await drawn;
  while (!window.folded.isSettled()) await new Promise(requestAnimationFrame);
  await new Promise(requestAnimationFrame);
  return performance.now() - begin;
}"""


def moving(bench: Bench) -> Iterator[Line]:
    """A sam is held and moved by a key: from the key to the lines in view drawn anew, and written between."""
    section = bench.archive.grid(SLUG).sections[-1]
    at_s = float(section.sam_s[len(section.sam_s) // 2])
    with bench.window() as page:
        page.goto(f"{bench.address}/cycles/{SLUG}?at={at_s:.3f}")
        _settled(page)
        page.evaluate("import('/assets/window/desk.mjs').then(module => { window.desk = module; })")
        page.wait_for_selector("#saved-marks details", state="attached")
        page.keyboard.press("y")
        moves_ms = []
        for number in range(REFRESHES + 1):
            moves_ms.append(float(page.evaluate(_MOVED, "nm"[number % 2])))
            page.wait_for_timeout(300)
    yield Line(
        "a sam moved by a key: from the key to the lines drawn anew, median; worst",
        f"{statistics.median(moves_ms[1:]):.0f} ms; {max(moves_ms[1:]):.0f} ms",
        "300 ms",
    )


def _rows_of(bench: Bench) -> int:
    with urlopen(f"{bench.address}/outline/{SLUG}", timeout=20) as answer:
        told: bytes = answer.read()
    return told.count(b'"ticks"')


_PLAY_SLOWLY = "import('/assets/window/player.mjs').then(module => void module.playPassage(60, 90, { speed: 50 }))"


def together(bench: Bench) -> Iterator[Line]:
    """Five people at once, their windows open side by side: each on a concert of their own, then all on the hour, where
    they play slowly and move a sam, then each through all the other pages, the statistics of another raga each."""
    slugs = [SLUG, *[slug for slug in bench.archive.slugs() if slug != SLUG]][:PEOPLE]
    ragas = list(ragas_played(bench.archive).index)
    section = bench.archive.grid(SLUG).sections[-1]
    with ExitStack() as windows:
        pages = [windows.enter_context(bench.window()) for _ in range(PEOPLE)]
        for page, slug in zip(pages, slugs, strict=True):
            page.goto(f"{bench.address}/cycles/{slug}")
        for page in pages:
            _settled(page)
        for number, page in enumerate(pages):
            page.goto(f"{bench.address}/cycles/{SLUG}?at={float(section.sam_s[1 + number]):.3f}")
        for page in pages:
            _settled(page)
            page.evaluate(
                "import('/assets/window/player.mjs').then(module => void module.playPassage(60, 90, {speed: 50}))"
            )
            page.wait_for_selector("#saved-marks details", state="attached")
            page.keyboard.press("y")
            page.keyboard.press("n")
            page.wait_for_timeout(1000)
            page.keyboard.press("m")
        yield _memory(bench, "five on the hour, playing slowly, a sam moved by each")
        for address, selector in PAGES.items():
            for page, raga in zip(pages, cycle(ragas), strict=False):
                page.goto(bench.address + address.replace("desh", raga))
            for page in pages:
                page.wait_for_selector(selector, state="attached")
        yield _memory(bench, "five through all the other pages")


def _memory(bench: Bench, when: str) -> Line:
    """Resident memory of the server now and at most, and of the process that slows sound down, which it starts."""
    now_mb, most_mb = (_resident_mb(bench.server.pid, name) for name in ("VmRSS", "VmHWM"))
    children = Path(f"/proc/{bench.server.pid}/task").glob("*/children")
    beside_mb = sum(_resident_mb(int(pid), "VmRSS") for each in children for pid in each.read_text().split())
    told = f"{now_mb:.0f} MB; {most_mb:.0f} MB; {beside_mb:.0f} MB"
    return Line(f"memory of the server, {when}: now; at most; of the process beside", told, "500 MB")


def _resident_mb(pid: int, name: str) -> float:
    return int(Path(f"/proc/{pid}/status").read_text().split(f"{name}:")[1].split()[0]) / 1000


MEASURED: dict[str, Callable[[Bench], Iterator[Line]]] = {
    "opening": opening,
    "scrolling": scrolling,
    "refreshing": refreshing,
    "moving": moving,
    "together": together,
}


def main() -> None:
    """Measure what the command line names, by default all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--archive", type=Path, required=True, help="where the archive is, or is to be made")
    parser.add_argument("--only", nargs="*", choices=MEASURED, default=list(MEASURED))
    wanted = parser.parse_args()
    archive = archive_at(wanted.archive)
    table = Table("measured", "found", "wanted")
    with served(wanted.archive) as (address, server), sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=needs.chromium(), args=FLAGS)
        bench = Bench(archive, address, server, browser)
        for name in wanted.only:
            for line in MEASURED[name](bench):
                table.add_row(line.what, line.value, line.target)
                print(f"{line.what}: {line.value}", flush=True)
        browser.close()
    Console(width=140).print(table)
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
