"""Edits with each of :mod:`benchmarks.archive_keepers`: how long, by four at once, killed, and whether they last.

``python -m benchmarks.archive_edits KEEPER FOLDER NAME SECONDS RECORDING`` is a writer: it edits for so many seconds
and prints the key of every edit that was acknowledged, and how often it had to be begun again.
"""

from __future__ import annotations

import random
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from benchmarks.archive_keepers import KEEPERS, make_delta, make_ours

RECORDINGS = 64
WRITERS = 4
SYNCS = ("fsync", "fdatasync", "sync_file_range", "syncfs")


@dataclass(frozen=True)
class Latency:
    """Milliseconds of an edit."""

    median_ms: float
    p95_ms: float


@dataclass(frozen=True)
class Together:
    """What several writers at once came to."""

    per_second: float
    again: int
    lost: int


@dataclass(frozen=True)
class Killed:
    """What was left by writers that were killed."""

    kills: int
    acknowledged: int
    lost: int
    leftovers: int


def make(keeper: str, folder: Path, recordings: int = RECORDINGS) -> None:
    """Begin what a keeper keeps, anew."""
    shutil.rmtree(folder, ignore_errors=True)
    (make_ours if keeper == "layakosh" else make_delta)(folder, recordings)


def latency(keeper: str, folder: Path, edits: int, recordings: int = RECORDINGS) -> Latency:
    """Time edits of one writer, one recording after the other."""
    kept = KEEPERS[keeper](folder)
    kept.edit(0, f"warm{time.time_ns()}")
    times = []
    for number in range(edits):
        key = f"t{time.time_ns()}"
        start = time.perf_counter()
        kept.edit(number * 7 % recordings, key)
        times.append(1000 * (time.perf_counter() - start))
    times.sort()
    return Latency(times[len(times) // 2], times[int(0.95 * len(times))])


def together(keeper: str, folder: Path, seconds: float, *, same: bool) -> Together:
    """Let four processes edit at once, all of them the same recording or each its own."""
    writers = [_writer(keeper, folder, f"w{number}", seconds, 0 if same else number) for number in range(WRITERS)]
    lines = [line.split() for writer in writers for line in writer.communicate()[0].splitlines()]
    keys = {key for key, _again in lines}
    lost = keys - KEEPERS[keeper](folder).found(range(WRITERS))
    return Together((len(keys) - WRITERS) / seconds, sum(int(again) for _key, again in lines), len(lost))


def killed(keeper: str, folder: Path, kills: int, seed: int = 1) -> Killed:
    """Kill a writer at random moments, again and again, and look at what is left."""
    chance, acknowledged = random.Random(seed), set[str]()
    for number in range(kills):
        writer = _writer(keeper, folder, f"k{number}", 60, 0)
        assert writer.stdout is not None
        acknowledged.add(writer.stdout.readline().split()[0])
        time.sleep(chance.uniform(0, 0.3))
        writer.kill()
        lines = writer.communicate()[0].splitlines(keepends=True)
        acknowledged |= {line.split()[0] for line in lines if line.endswith("\n")}
    kept = KEEPERS[keeper](folder)
    return Killed(kills, len(acknowledged), len(acknowledged - kept.found([0])), kept.leftovers())


def syncs(keeper: str, folder: Path, seconds: float = 3) -> float | None:
    """Count how often an edit asks the system to bring something to the disk; None where ``strace`` is missing."""
    if shutil.which("strace") is None:
        return None
    log = folder.with_suffix(".strace")
    command = ["strace", "-f", "-qq", "-e", f"trace={','.join(SYNCS)}", "-o", str(log)]
    writer = _writer(keeper, folder, "s", seconds, 0, command)
    edits = len(writer.communicate()[0].splitlines())
    calls = len(re.findall(rf"\b(?:{'|'.join(SYNCS)})\(", log.read_text("utf-8", "replace")))
    log.unlink()
    return calls / edits


def _writer(
    keeper: str, folder: Path, name: str, seconds: float, recording: int, before: Sequence[str] = ()
) -> subprocess.Popen[str]:
    arguments = [keeper, str(folder), name, str(seconds), str(recording)]
    return subprocess.Popen(
        [*before, sys.executable, "-m", "benchmarks.archive_edits", *arguments], stdout=subprocess.PIPE, text=True
    )


def main() -> None:
    """Be a writer."""
    keeper, folder, name, seconds, recording = sys.argv[1:]
    kept = KEEPERS[keeper](Path(folder))
    number, end = 0, None
    while end is None or time.monotonic() < end:
        key = f"{name}-{number}-{time.time_ns()}"
        again = kept.edit(int(recording), key)
        print(key, again, flush=True)
        end = end or time.monotonic() + float(seconds)  # the first edit brings the imports in
        number += 1


if __name__ == "__main__":
    main()
