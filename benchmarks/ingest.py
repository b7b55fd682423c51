"""Speed and memory of ingest, printed as a table. Run by hand: ``python -m benchmarks.ingest [MINUTES ...]``.

The recording is the Desh sample repeated to the length asked for (stereo FLAC at 44.1 kHz), made in a temporary folder.
Each row runs in a process of its own, so that the peak memory is its own. "x real time" is sound per second of work.
"""

from __future__ import annotations

import multiprocessing
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from importlib.resources import as_file, files
from pathlib import Path

import soundfile
from rich.console import Console
from rich.table import Table


def long_recording(folder: Path, minutes: float) -> Path:
    """Write the Desh sample again and again until it is ``minutes`` long."""
    with as_file(files("sample_data") / "desh_teental.ogg") as source:
        sound, rate_hz = soundfile.read(source, dtype="float32", always_2d=True)
    path = folder / f"{minutes:g}-minutes.flac"
    left = int(minutes * 60 * rate_hz)
    with soundfile.SoundFile(path, "w", rate_hz, sound.shape[1]) as out:
        while left > 0:
            out.write(sound[:left])
            left -= len(sound)
    return path


def decode(path: Path) -> None:
    """Decode and resample only: the floor."""
    from ingest.decode import mono_blocks

    for _ in mono_blocks(path):
        pass


def measure(path: Path) -> None:
    """Everything that ingest measures from the sound."""
    from ingest.measure import measure as measure_sound

    measure_sound(path)


def take_in(path: Path) -> None:
    """The whole of ``layakosh ingest``: evidence, Sa, stretches, matras and sams, archive."""
    from annotate.archive import Archive
    from annotate.intake import take_in as take_in_sound

    archive = Archive.open(path.with_suffix(".archive"), create=True)
    take_in_sound(archive, path, raga="Desh", tala="teental")


def _timed(work: Callable[[Path], None], path: Path, answer: multiprocessing.Queue) -> None:  # type: ignore[type-arg]
    start = time.perf_counter()
    work(path)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    answer.put((time.perf_counter() - start, peak_mb))


def main() -> None:
    """Print the table."""
    lengths = [float(text) for text in sys.argv[1:]] or [2.0, 10.0, 60.0]
    table = Table(title="Ingest")
    for column in ("work", "minutes of sound", "seconds", "x real time", "peak MB"):
        table.add_column(column, justify="left" if column == "work" else "right")
    spawn = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as folder:
        for minutes in lengths:
            path = long_recording(Path(folder), minutes)
            for work in (decode, measure, take_in):
                answer = spawn.Queue()
                process = spawn.Process(target=_timed, args=(work, path, answer))
                process.start()
                process.join()
                if process.exitcode:
                    table.add_row(work.__name__, f"{minutes:g}", "failed", "", "")
                    continue
                seconds, peak_mb = answer.get()
                table.add_row(
                    work.__name__, f"{minutes:g}", f"{seconds:.1f}", f"{minutes * 60 / seconds:.0f}", f"{peak_mb:.0f}"
                )
    Console().print(table)


if __name__ == "__main__":
    main()
