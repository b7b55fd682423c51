"""How long history, undo and as-of take on a recording that was edited thousands of times.

Run by hand: ``python -m benchmarks.history [--revisions 5000]``. Two invented people write phrases down and change
them, one a revision, a third of them new, with the archive's own durable edits. Each figure is the median of some runs;
*opened* is what a command does (an archive just opened, the command's own start left out), *known* what a page does
that has looked at the recording before. CPU time beside it tells how busy the machine was with other things.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

from annotate.archive import Archive
from annotate.history.as_of import carry_out, compare, plan
from annotate.history.points import Point
from annotate.history.taking_back import can_undo, redo, undo
from annotate.history.timeline import history
from annotate.records import PhraseRecord, Recording
from annotate.revisions import add, change
from commands.printing import print_table, progress

SLUG = "evening"
RUNS = 9
Job = Callable[[Archive], object]


def make(place: Path, revisions: int, moved: Callable[[float], None]) -> None:
    """Write an archive with one recording of so many revisions."""
    draw, archive, rows = Random(5), Archive.create(place), list[PhraseRecord]()
    number = archive.commit(SLUG, [add(Recording(SLUG, "Evening", raga="desh", duration_s=3600.0))], "asha", "made")
    while number < revisions:
        who, start_s = draw.choice(["asha", "bela"]), round(draw.uniform(0, 3500), 2)
        if not rows or draw.random() < 1 / 3:
            rows.append(PhraseRecord(f"p{len(rows) + 1:02d}", start_s, start_s + 2, "R m P n D P", "mukhra", who))
            number = archive.commit(SLUG, [add(rows[-1])], who, "phrase written down")
        else:
            place_of = draw.randrange(len(rows))
            rows[place_of] = replace(rows[place_of], start_s=start_s, end_s=start_s + 3, role=draw.choice("abc"))
            number = archive.commit(SLUG, [change(rows[place_of])], who, "phrase changed")
        moved(number / revisions)


def jobs(revisions: int) -> dict[str, Job]:
    """What is timed, by name; undo and redo come in turns, so that each finds something to do."""
    half = Point(number=revisions // 2)
    return {
        "history of a row": lambda archive: history(archive, SLUG, table="phrases", key="p07"),
        "history, the latest 20": lambda archive: history(archive, SLUG, most=20),
        "history, all of it": lambda archive: history(archive, SLUG),
        "what undo would take back": lambda archive: can_undo(archive, SLUG, "asha"),
        "undo": lambda archive: undo(archive, SLUG, "asha"),
        "redo": lambda archive: redo(archive, SLUG, "asha"),
        "compare with half way": lambda archive: compare(archive, SLUG, half, Point()),
        "as of half way, one row": lambda archive: plan(archive, SLUG, half, table="phrases", key="p07"),
        "as of half way, all: shown": lambda archive: plan(archive, SLUG, half),
        "as of half way, all: written, undone": lambda archive: _there_and_back(archive, half),
    }


def _there_and_back(archive: Archive, point: Point) -> None:
    carry_out(archive, plan(archive, SLUG, point), "asha")
    undo(archive, SLUG, "asha")


def timed(job: Job, archive_of: Callable[[], Archive]) -> list[str]:
    """Return the median milliseconds that a job takes, and those of the processor."""
    took_ms, busy_ms = [], []
    for _ in range(RUNS):
        archive, began, cpu = archive_of(), time.perf_counter(), time.process_time()
        job(archive)
        took_ms.append(1000 * (time.perf_counter() - began))
        busy_ms.append(1000 * (time.process_time() - cpu))
    return [f"{statistics.median(took_ms):.0f}", f"{statistics.median(busy_ms):.0f}"]


def main() -> None:
    """Make the recording, time every job, print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--revisions", type=int, default=5000)
    revisions = parser.parse_args().revisions
    with tempfile.TemporaryDirectory() as folder, progress("Writing revisions") as moved:
        place = Path(folder) / "archive"
        make(place, revisions, moved)
        known = Archive.open(place)
        rows = [
            [name, *timed(job, lambda: Archive.open(place)), *timed(job, lambda: known)]
            for name, job in jobs(revisions).items()
        ]
    columns = ["", "opened, ms", "of CPU", "known, ms", "of CPU"]
    print_table(f"A recording of {revisions} revisions", columns, rows)


if __name__ == "__main__":
    main()
