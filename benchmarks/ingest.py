"""Speed and memory of ingest, printed as a table. Run by hand: ``python -m benchmarks.ingest --minutes 20 60``.

The recording is the Desh sample repeated to the length asked for (stereo FLAC at 44.1 kHz unless told otherwise), made
in a temporary folder. Every row runs in a process of its own, after a run on half a minute of sound by which what is
compiled at first use has been kept.

Columns: elapsed seconds; seconds of work of all its threads and processes (on a busy machine the fairer figure); sound
per elapsed second; peak memory of all its processes together, what they share counted once (Linux only; sampled every
50 ms); load of the machine when the row began, that is how many processes were at work beside it.
"""

from __future__ import annotations

import argparse
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np
import soundfile
import soxr
from rich.console import Console
from rich.table import Table
from threadpoolctl import threadpool_limits

SAMPLE_EVERY_S = 0.05
IMPORT_TIMES = 9


def long_recording(folder: Path, minutes: float, rate_hz: int, channels: int) -> Path:
    """Write the Desh sample again and again until it is ``minutes`` long."""
    with as_file(files("sample_data") / "desh_teental.ogg") as source:
        sound, source_hz = soundfile.read(source, dtype="float32", always_2d=True)
    sound = soxr.resample(sound[:, :channels], source_hz, rate_hz)
    sound = np.repeat(sound, channels // sound.shape[1], axis=1)
    path = folder / f"{minutes:g}-minutes.flac"
    left = int(minutes * 60 * rate_hz)
    with soundfile.SoundFile(path, "w", rate_hz, channels) as out:
        while left > 0:
            out.write(sound[:left])
            left -= len(sound)
    return path


def naive(path: Path) -> None:
    """The whole file at once: load, onset strength, beat tracking by librosa."""
    import librosa

    samples, rate_hz = librosa.load(path)
    strength = librosa.onset.onset_strength(y=samples, sr=rate_hz)
    librosa.beat.beat_track(onset_envelope=strength, sr=rate_hz)


def floor(path: Path) -> None:
    """Decode, resample and a short-time spectrum, as a stream: less than this cannot be."""
    import scipy.fft

    from ingest.decode import mono_blocks

    window = np.hanning(2048).astype(np.float32)
    for block in mono_blocks(path):
        if len(block) >= len(window):
            windows = np.lib.stride_tricks.sliding_window_view(block, len(window))[::512]
            np.abs(scipy.fft.rfft(windows * window, axis=1))


def decode(path: Path) -> None:
    """Decode and resample only."""
    from ingest.decode import mono_blocks

    for _ in mono_blocks(path):
        pass


def measure(path: Path) -> None:
    """Decode and measure the evidence."""
    from ingest.measure import measure as measure_sound

    measure_sound(path)


def listen(path: Path) -> None:
    """Decode, measure, waveform and listening copy in one pass."""
    from ingest.listen import Sound
    from ingest.listen import listen as listen_to

    with tempfile.TemporaryDirectory() as folder:
        listen_to(Sound((path,)), Path(folder))


def melody(path: Path) -> None:
    """Decode and follow the melody."""
    from ingest.melody import melody as follow

    follow(path)


def whole(path: Path) -> None:
    """All of ``layakosh ingest``."""
    with tempfile.TemporaryDirectory() as folder:
        told = ["--raga", "Desh", "--tala", "teental", "--archive", str(Path(folder) / "archive")]
        command = [sys.executable, "-m", "layakosh", "ingest", str(path), *told]
        subprocess.run(command, check=True, capture_output=True)


ROWS = {
    "naive whole-file librosa": naive,
    "floor: decode, resample, STFT": floor,
    "decode and resample": decode,
    "the evidence alone": measure,
    "listening: evidence, waveform, copy": listen,
    "the melody alone": melody,
    "layakosh ingest, the whole": whole,
}
SHORT = {work.__name__: name for name, work in ROWS.items()}


@dataclass
class Run:
    """What a row took: seconds elapsed, seconds of work, peak megabytes (None where they cannot be measured)."""

    elapsed_s: float
    work_s: float
    peak_mb: float | None


def timed(row: str, path: Path) -> Run:
    """Run a row in a process of its own and watch it."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    process = subprocess.Popen([sys.executable, "-m", "benchmarks.ingest", "--only", row, str(path)])
    peak_kb, running = [0], threading.Event()

    def watch() -> None:
        while not running.wait(SAMPLE_EVERY_S):
            peak_kb[0] = max(peak_kb[0], memory_kb(process.pid))

    watcher = threading.Thread(target=watch)
    watcher.start()
    status = process.wait()
    elapsed_s, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    running.set()
    watcher.join()
    if status:
        raise RuntimeError(f"'{row}' failed with status {status}.")
    work_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Run(elapsed_s, work_s, peak_kb[0] / 1024 if peak_kb[0] else None)


def memory_kb(pid: int) -> int:
    """Memory of a process and all below it, shared pages by their share; 0 where the system does not tell."""
    total = 0
    try:
        rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
        total += next(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Pss:"))
        for task in Path(f"/proc/{pid}/task").iterdir():
            total += sum(memory_kb(int(child)) for child in (task / "children").read_text().split())
    except (OSError, StopIteration):
        pass  # it has just ended, or this is no Linux
    return total


def import_s() -> tuple[float, float]:
    """Medians: seconds to import the command line, and to run a whole command that needs no audio."""
    imports, commands = [], []
    for _ in range(IMPORT_TIMES):
        told = "import time; t = time.perf_counter(); import layakosh; print(time.perf_counter() - t)"
        done = subprocess.run([sys.executable, "-c", told], check=True, capture_output=True, text=True)
        imports.append(float(done.stdout))
        start = time.perf_counter()
        command = [sys.executable, "-m", "layakosh", "paper", "--tala", "teental", "--start", "1", "--palla"]
        subprocess.run([*command, "Dha Ti Ta Ka Dha", "--dam", "1"], check=True, stdout=subprocess.DEVNULL)
        commands.append(time.perf_counter() - start)
    return statistics.median(imports), statistics.median(commands)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.ingest", description=__doc__.splitlines()[0])
    parser.add_argument("--minutes", type=float, nargs="+", default=[20.0, 60.0], help="lengths of sound")
    parser.add_argument("--rate", type=int, default=44100, help="sample rate of the recording in Hz")
    parser.add_argument("--channels", type=int, default=2, choices=(1, 2))
    parser.add_argument("--rows", nargs="+", choices=SHORT, default=list(SHORT), help="which rows")
    parser.add_argument("--only", nargs=2, metavar=("ROW", "FILE"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.only:
        work = ROWS[SHORT[given.only[0]]]
        if work is naive:
            work(Path(given.only[1]))
        else:  # as `annotate.intake_stages` does: threads that wait for each other by spinning cost more than they save
            with threadpool_limits(limits=1, user_api="blas"):
                work(Path(given.only[1]))
        return
    kind = f"{given.rate / 1000:g} kHz, {'stereo' if given.channels == 2 else 'mono'}"
    table = Table(title=f"Ingest of FLAC, {kind}; {platform.machine()}, {os.cpu_count()} cores")
    for column in ("work", "minutes", "elapsed s", "work s", "x real time", "peak MB", "load"):
        table.add_column(column, justify="left" if column == "work" else "right")
    console, failed = Console(width=120), 0
    with tempfile.TemporaryDirectory() as folder:
        warm = long_recording(Path(folder), 0.5, given.rate, given.channels)
        for minutes in given.minutes:
            path = long_recording(Path(folder), minutes, given.rate, given.channels)
            for row in given.rows:
                load = os.getloadavg()[0]
                try:
                    timed(row, warm)  # what is compiled at first use is kept by then
                    run = timed(row, path)
                except RuntimeError as error:
                    failed += 1
                    console.print(str(error))
                    table.add_row(SHORT[row], f"{minutes:g}", "failed", "", "", "", f"{load:.1f}")
                    continue
                peak = "" if run.peak_mb is None else f"{run.peak_mb:.0f}"
                speed = f"{minutes * 60 / run.elapsed_s:.0f}"
                cells = (f"{minutes:g}", f"{run.elapsed_s:.1f}", f"{run.work_s:.1f}", speed, peak, f"{load:.1f}")
                table.add_row(SHORT[row], *cells)
                console.print(SHORT[row], *cells, sep="  ", highlight=False)
            path.unlink()
    console.print(table)
    import_only_s, command_s = import_s()
    console.print(f"import layakosh: {import_only_s:.2f} s; a whole command without audio (paper): {command_s:.2f} s")
    sys.exit(min(failed, 1))


if __name__ == "__main__":
    main()
