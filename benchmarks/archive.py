"""Speed and memory of a large archive; edits beside those of a ready-made table format.

Run by hand: ``python -m benchmarks.archive [--archive FOLDER] [--repeats 3] [--only scale or edits]``. Without a folder
a large archive is made up for it (five minutes, 2 GB) and its index from nothing (as long). It is edited: give none
that is dear to you. The ready-made format wants ``pip install -c constraints.txt -e '.[tables]'``.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Iterable, Sequence
from importlib.metadata import version
from pathlib import Path

from benchmarks.archive_edits import WRITERS, killed, latency, make, syncs, together
from benchmarks.archive_keepers import KEEPERS, Ours, delta_of
from benchmarks.archive_scale import COMMANDS, JOBS, measured
from benchmarks.large_archive import RECORDINGS
from benchmarks.large_archive import make as make_large

ONCE = {"index from nothing", "open a recording of many edits", "layakosh verify"}
"""Done once: they take minutes."""
EDITS, SECONDS, KILLS = 100, 10.0, 20


def print_table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table in Markdown, each row as it comes."""
    print("| " + " | ".join(heads) + " |")
    print("| " + " | ".join("---" for _ in heads) + " |", flush=True)
    for row in rows:
        print("| " + " | ".join(row) + " |", flush=True)


def scale(folder: Path, repeats: int) -> None:
    """Print how long everything takes on a large archive, and how much memory."""
    there = (folder / "index").is_dir()
    jobs = [job for job in (*JOBS, *COMMANDS) if not (there and job == "index from nothing")]

    def rows() -> Iterable[Sequence[str]]:
        for job in jobs:
            found = measured(job, folder, 1 if job in ONCE else repeats)
            load = f"{os.getloadavg()[0]:.1f}"
            yield job, f"{found.seconds:.3f}", f"{found.work_s:.3f}", f"{found.peak_mb:.0f}", load, found.note

    print_table(("job", "s", "work s", "peak MB", "load beside", "what"), rows())


def edits(large: Path | None) -> None:
    """Print edits with each keeper, side by side."""
    print(f"deltalake {version('deltalake')}, pyarrow {version('pyarrow')}; load beside {os.getloadavg()[0]:.1f}\n")
    with tempfile.TemporaryDirectory(prefix="layakosh-bench-") as home:
        columns = [_column(keeper, Path(home) / keeper.replace(", ", "-"), large) for keeper in KEEPERS]
    names = list(columns[0])
    print_table(("", *KEEPERS), ((name, *(column[name] for column in columns)) for name in names))


def _column(keeper: str, folder: Path, large: Path | None) -> dict[str, str]:
    make(keeper, folder)
    quick = latency(keeper, folder, EDITS)
    own, same = (together(keeper, folder, SECONDS, same=same) for same in (False, True))
    after = killed(keeper, folder, KILLS)
    calls = syncs(keeper, folder)
    column = {
        "one edit: median, 95th in 100, ms": f"{quick.median_ms:.0f}, {quick.p95_ms:.0f}",
        f"{WRITERS} writers, each its own recording: edits a second": f"{own.per_second:.0f}",
        "... begun again, lost": f"{own.again}, {own.lost}",
        f"{WRITERS} writers, one recording: edits a second": f"{same.per_second:.0f}",
        "... begun again by the application, lost": f"{same.again}, {same.lost}",
        f"{KILLS} kills while writing: acknowledged, lost, files left behind": (
            f"{after.acknowledged}, {after.lost}, {after.leftovers}"
        ),
        "calls that bring an edit to the disk (strace)": "no strace" if calls is None else f"{calls:.1f}",
    }
    if large is not None:
        column |= _large(keeper, folder.with_name(f"{folder.name}-large"), large)
    return column


def _large(keeper: str, folder: Path, large: Path) -> dict[str, str]:
    """The same with as many recordings as the large archive has."""
    place = large if keeper == Ours.name else folder
    if keeper != Ours.name:
        delta_of(large, folder)
    files = _files(place)
    edited = [number * 7 % RECORDINGS for number in range(EDITS)]
    before = KEEPERS[keeper](place).found(edited)
    quick = latency(keeper, place, EDITS, RECORDINGS)
    found = KEEPERS[keeper](place).found(edited) - before
    key = f"{RECORDINGS:,} recordings"
    return {
        f"{key}, one edit: median, 95th in 100, ms": f"{quick.median_ms:.0f}, {quick.p95_ms:.0f}",
        f"... of {EDITS} edits found": str(sum(key.startswith("t") for key in found)),
        "... files before, after": f"{files:,}, {_files(place):,}",
    }


def _files(folder: Path) -> int:
    return sum(path.is_file() for path in folder.rglob("*"))


def main() -> None:
    """Print the tables that are asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--archive", type=Path)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--only", choices=("scale", "edits"))
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="layakosh-bench-") as home:
        folder: Path = wanted.archive or Path(home) / "archive"
        if wanted.archive is None:
            make_large(folder)
        if wanted.only != "edits":
            scale(folder, wanted.repeats)
            print()
        if wanted.only != "scale":
            edits(folder)


if __name__ == "__main__":
    main()
