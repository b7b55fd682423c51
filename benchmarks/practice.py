"""How long practice material takes: ``python -m benchmarks.practice``

It is made of the demo's two performances, in an archive of its own unless ``--archive FOLDER`` names one that is there.
What is measured as a command starts a new process, as for somebody who types it. To measure something more, add a
:class:`Measure` to :data:`MEASURES`.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from annotate.archive import Archive
from annotate.demo import take_in_samples
from annotate.practice.pieces import pieces_named
from annotate.practice.sheets import SheetWishes, sheet_html, sheet_pdf
from annotate.practice.sounds import SoundWishes, write_sound

TIHAI = "desh-gat-in-teental/t07"
LONG_TIHAI = "desh-gat-in-teental/t02"
OF_A_SET = (
    "desh-gat-in-teental/t01,t02,t03,t04,t05,t06,t07,p08,p13,p19",
    "bageshri-gat-in-jhaptal/t01,t02,t03,t04,t05,t06,p08,p15",
)
TEN_TIHAIS = ("desh-gat-in-teental/t01,t02,t03,t04,t05,t06,t07", "bageshri-gat-in-jhaptal/t01,t02,t03")
NECK = ("--tuning", "G,D,A,E", "--sa", "D4")


@dataclass(frozen=True)
class Measure:
    """What is measured: its name, how long it may take, and the function that does it with an archive, in a folder."""

    name: str
    target_s: float | None
    run: Callable[[Path, Path], object]


def _command(archive: Path, *words: str) -> None:
    program = "import sys; from layakosh import main; main(sys.argv[1:])"
    subprocess.run([sys.executable, "-c", program, *words, "--archive", str(archive)], check=True, capture_output=True)


def _sheet_command(archive: Path, folder: Path, ending: str) -> None:
    _command(archive, "sheet", TIHAI, str(folder / f"one.{ending}"), "--played", *NECK)


def _in_process(archive: Path, pdf: bool, *addresses: str) -> None:
    opened = Archive.open(archive)
    pieces = pieces_named(opened, addresses)
    (sheet_pdf if pdf else sheet_html)(opened, pieces, SheetWishes("devanagari", played=True, raga="desh"))


def _sound_command(archive: Path, folder: Path) -> None:
    _command(archive, "practice-sound", TIHAI, str(folder / "one.opus"))


def _sounds(archive: Path, folder: Path, address: str) -> None:
    """A round at each of four speeds, and from notation at two layas, each a file of its own, as in a pack."""
    opened = Archive.open(archive)
    (piece,) = pieces_named(opened, [address])
    laya = Fraction(round(piece.per_minute or 60))
    base = SoundWishes(rounds=1, count_in=Fraction(4), mono=True)
    wished = [replace(base, speeds=(Fraction(speed),)) for speed in (50, 65, 80, 100)]
    wished += [replace(base, source="notation", layas=(laya * share,)) for share in (Fraction(3, 5), Fraction(1))]
    for number, wishes in enumerate(wished):
        write_sound(opened, piece, wishes, folder / f"{address.replace('/', '-')}-{number}.mp3")


def _pack_command(archive: Path, folder: Path) -> None:
    tihais = [word for each in TEN_TIHAIS for word in ("--tihais", each)]
    _command(archive, "pack", "Ten tihais", *tihais, "--licence", "students", "--to", str(folder))


MEASURES = (
    Measure("sheet of a tihai as HTML, the command", 2.0, lambda archive, to: _sheet_command(archive, to, "html")),
    Measure("sheet of a tihai as PDF, the command", 2.0, lambda archive, to: _sheet_command(archive, to, "pdf")),
    Measure("the same as HTML where it runs already", 2.0, lambda archive, _to: _in_process(archive, False, TIHAI)),
    Measure("the same as PDF where it runs already", 2.0, lambda archive, _to: _in_process(archive, True, TIHAI)),
    Measure("a set of 18 pieces and a raga as PDF", None, lambda archive, _to: _in_process(archive, True, *OF_A_SET)),
    Measure("sound of a tihai at four speeds, two rounds, as Opus, the command", None, _sound_command),
    Measure(
        "six sounds of a tihai for a pack, where it runs already", None, lambda archive, to: _sounds(archive, to, TIHAI)
    ),
    Measure("the same of a long tihai", None, lambda archive, to: _sounds(archive, to, LONG_TIHAI)),
    Measure("a pack of ten tihais, the command", 30.0, _pack_command),
)


def main() -> None:
    """Measure each, after once for practice where it runs in this process, and print a table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--archive", type=Path, help="An archive with the demo's performances.")
    archive = options.parse_args().archive
    with tempfile.TemporaryDirectory() as folder:
        if archive is None:
            archive = Path(folder) / "archive"
            take_in_samples(Archive.create(archive))
        _in_process(archive, True, TIHAI)
        print("| | target, s | measured, s |\n| --- | --- | --- |")
        for measure in MEASURES:
            begun = time.perf_counter()
            measure.run(archive, Path(folder))
            target = "" if measure.target_s is None else f"{measure.target_s:g}"
            print(f"| {measure.name} | {target} | {time.perf_counter() - begun:.1f} |", flush=True)


if __name__ == "__main__":
    main()
