"""What is timed on a large archive, each in a process of its own, so that nothing is remembered from the one before.

``python -m benchmarks.archive_scale JOB FOLDER`` does one job and prints its seconds as JSON; :func:`measured` runs it
and adds the highest memory of the process. Seconds do not count the start of Python and its imports; those of the
whole commands (:data:`COMMANDS`) do.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from annotate.archive import Archive
from annotate.records import PhraseRecord
from annotate.revisions import add, change, withdraw
from annotate.schema import INDEX_TABLES
from annotate.search.phrases import PhraseSearch, find_phrases
from annotate.search.spans import parse_span
from annotate.search.tihais import TihaiSearch, find_tihais, like_tihai
from annotate.statistics.ngrams import ngram_usage
from annotate.statistics.usage import phrase_usage
from benchmarks.large_archive import slug_of
from dashboard.library import Library
from dashboard.pages import concerts

MANY_EDITS = 5_000
EDITS = 50


@dataclass(frozen=True)
class Measured:
    """Seconds, seconds of work (of all threads), highest memory of a job; ``note`` says what it found."""

    seconds: float
    work_s: float
    peak_mb: float
    note: str = ""


Job = Callable[[Archive, "Stopwatch"], str]


class Stopwatch:
    """Adds up the time between :meth:`running` blocks."""

    def __init__(self) -> None:
        self.times: list[float] = []
        self.works: list[float] = []

    @contextmanager
    def running(self) -> Iterator[None]:
        """Time a block."""
        start, work = time.perf_counter(), time.process_time()
        yield
        self.times.append(time.perf_counter() - start)
        self.works.append(time.process_time() - work)

    def medians_s(self) -> tuple[float, float]:
        """Return the middle one of the times, and of the seconds of work."""
        return statistics.median(self.times), statistics.median(self.works)


def _phrase(key: str) -> PhraseRecord:
    return PhraseRecord(key, 300.0, 302.0, "S R G m", "tan", "Ira Menavat")


def _opened(archive: Archive, watch: Stopwatch) -> str:
    with watch.running():
        again = Archive.open(archive.store.place)
        known = len(again.slugs())
    return f"{known} recordings"


def _edited(archive: Archive, watch: Stopwatch) -> str:
    for number in range(EDITS):
        slug, key = slug_of(number * 7), f"edit{time.time_ns()}"
        with watch.running():
            archive.commit(slug, [add(_phrase(key))], "bench", "timed")
    return f"median of {EDITS}, each of another recording; slowest {1000 * max(watch.times):.0f} ms"


def _edited_and_found(archive: Archive, watch: Stopwatch) -> str:
    key = f"edit{time.time_ns()}"
    find_phrases(archive, PhraseSearch(swaras="S R G m P D"))  # a page that is open
    for number in range(5):
        with watch.running():
            archive.commit(slug_of(3), [add(_phrase(f"{key}{number}"))], "bench", "timed")
            archive.index("phrases", ["phrase"], [slug_of(3)])
    return "the edit, and the index brought up to date; median of 5"


def _brought_up_to_date(archive: Archive, watch: Stopwatch) -> str:
    key = f"edit{time.time_ns()}"
    for number in range(100):
        archive.commit(slug_of(50 * number), [add(_phrase(key))], "bench", "timed")
    with watch.running():
        archive.index("phrases", ["phrase"], [slug_of(0)])
    for number in range(100):
        archive.commit(slug_of(50 * number), [withdraw("phrases", key)], "bench", "timed")
    return "after 100 edits of 100 recordings"


def _many_revisions(archive: Archive, watch: Stopwatch) -> str:
    slug = slug_of(11)
    while (latest := archive.latest_revisions()[slug]) < MANY_EDITS:
        tihai = archive.state(slug).tihais[0]
        for number in range(MANY_EDITS - latest):
            archive.commit(slug, [change(replace(tihai, label=f"edit {number}"))], "bench", "timed")
    fresh = Archive.open(archive.store.place)
    with watch.running():
        fresh.state(slug)
    return f"{MANY_EDITS} revisions"


def _index_from_nothing(archive: Archive, watch: Stopwatch) -> str:
    with watch.running():
        archive.index("recordings", ["recording"])
    rows = [len(archive.index(table, ["recording"])) for table in INDEX_TABLES if table != "matras"]
    return f"all tables, {sum(rows):,} rows and the matras"


def _concerts_page(archive: Archive, watch: Stopwatch) -> str:
    library = Library(archive)
    with watch.running():
        concerts.page(library)
    return "drawn on the server, before the browser has it"


def _search(find: Callable[[Archive], object]) -> Job:
    def job(archive: Archive, watch: Stopwatch) -> str:
        with watch.running():
            found = find(archive)
        return f"{len(found):,} rows"  # type: ignore[arg-type]

    return job


_SUM = TihaiSearch(tala="teental", palla=parse_span("4..6"), dam=parse_span("1"), verdict="lands")

JOBS: dict[str, Job] = {
    "index from nothing": _index_from_nothing,
    "open and list": _opened,
    "one edit": _edited,
    "one edit, index brought up to date": _edited_and_found,
    "index brought up to date": _brought_up_to_date,
    "open a recording of many edits": _many_revisions,
    "usage of one raga": _search(lambda archive: phrase_usage(archive, "Desh")),
    "runs of three swaras of one raga": _search(lambda archive: ngram_usage(archive, "Desh", 3)),
    "tihais by arithmetic": _search(lambda archive: find_tihais(archive, _SUM)),
    "the same tihai elsewhere": _search(lambda archive: like_tihai(archive, slug_of(3), "t01")),
    "phrases by pattern": _search(lambda archive: find_phrases(archive, PhraseSearch(swaras="* R m P *"))),
    "phrases by contour": _search(lambda archive: find_phrases(archive, PhraseSearch(contour="* up up down down"))),
    "phrases like one, by steps": _search(lambda archive: find_phrases(archive, PhraseSearch(like="R m P n D P"))),
    "Concerts page": _concerts_page,
}

COMMANDS: dict[str, tuple[str, ...]] = {
    "layakosh concerts": ("concerts",),
    "layakosh verify RECORDING": ("verify", slug_of(3)),
    "layakosh verify": ("verify",),
    "layakosh find-tihais": ("find-tihais", "--tala", "teental", "--palla", "4..6", "--dam", "1"),
    "layakosh find-phrases": ("find-phrases", "* R m P *"),
    "layakosh raga-use": ("raga-use", "Desh"),
    "layakosh phrase": ("phrase", slug_of(5), "--from", "300", "--to", "302", "--swaras", "S R G"),
}


def measured(job: str, folder: Path, repeats: int = 1) -> Measured:
    """Run a job or a command in processes of their own; the quickest counts, with the memory of the largest."""
    found = [_once(job, folder) for _ in range(repeats)]
    best = min(found, key=lambda each: each.seconds)
    return Measured(best.seconds, best.work_s, max(each.peak_mb for each in found), best.note)


def _once(job: str, folder: Path) -> Measured:
    command = [sys.executable, "-m", "benchmarks.archive_scale", job, str(folder)]
    if job in COMMANDS:
        command = [sys.executable, "-m", "layakosh", *COMMANDS[job], "--archive", str(folder)]
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    lines, said = 0, ""
    for said in process.stdout:  # noqa: B007 - the last line is the answer
        lines += 1
    process.stdout.close()
    _, status, used = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"{job} ended with {process.returncode}")
    peak_mb = used.ru_maxrss / 1024
    if job in COMMANDS:
        return Measured(seconds, used.ru_utime + used.ru_stime, peak_mb, f"{lines:,} lines")
    answer = json.loads(said)
    return Measured(answer["seconds"], answer["work_s"], peak_mb, answer["note"])


def main() -> None:
    """Do the job that the command line names."""
    job, folder = sys.argv[1:]
    watch = Stopwatch()
    note = JOBS[job](Archive.open(folder), watch)
    seconds, work_s = watch.medians_s()
    print(json.dumps({"seconds": seconds, "work_s": work_s, "note": note}))


if __name__ == "__main__":
    main()
