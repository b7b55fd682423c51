"""The draft of what the sample performances' mandolin plays, against the lines that it was given to play.

The mandolin and the drone of the samples are made by `sample_data`, not by the instruments that the melody's weights
were learnt on.
"""

from __future__ import annotations

import csv
from importlib.resources import files
from types import ModuleType

import numpy as np
import pytest

from ingest.draft import draft
from ingest.measure import measure
from ingest.melody import melody
from ingest.onset_times import onset_times
from ingest.swaras_heard import middle_sa_hz
from sample_data import bageshri, desh
from theory.notation import parse
from theory.passage import Passage
from theory.ragas import get_raga
from theory.swaras import semitones_of

PARTS = 8  # of a matra, at which the two are compared
LEAST_SHARE = 0.8  # of the written notes' time; grace, scatter and what dies away take the rest


def _by_part(passage: Passage) -> np.ndarray:
    """Semitone in every part of a passage, -99 in silence."""
    out = np.full(int(passage.length * PARTS), -99)
    for note in passage.notes:
        out[round(note.onset * PARTS) : round(note.end * PARTS)] = semitones_of(note.symbol)
    return out


@pytest.mark.parametrize(("score", "name", "matras", "raga", "sa_hz"), [
    (desh, "desh_teental", 16, "desh", 294.5), (bageshri, "bageshri_jhaptal", 10, "bageshri", 277.0),
])  # fmt: skip
def test_the_written_lines_are_drafted_from_their_sound(
    score: ModuleType, name: str, matras: int, raga: str, sa_hz: float
) -> None:
    folder = files("sample_data")
    sound = str(folder / f"{name}.ogg")
    heard, onsets_s = melody(sound), onset_times(measure(sound))
    assert middle_sa_hz(heard, sa_hz / 2) == pytest.approx(sa_hz)
    rows = csv.DictReader((folder / f"{name}_sams.csv").read_text(encoding="utf-8").splitlines())
    sam_s = [float(row["sam_s"]) for row in rows]
    right, parts = 0, 0
    for line in (each for each in score.LINES if each.role and each.cycle < len(sam_s)):
        written = parse(line.swaras)
        first = (line.cycle - 1) * matras + line.matra - 1
        places = first + np.arange(int(written.length) + 1)
        if places[-1] > (len(sam_s) - 1) * matras:
            continue
        matra_s = np.interp(places, np.arange(len(sam_s)) * matras, sam_s)
        drafted = draft(heard, sa_hz, matra_s, get_raga(raga).swaras, onsets_s)
        wanted, got = _by_part(written), _by_part(drafted.passage)
        right += int(np.sum((got == wanted)[wanted != -99]))
        parts += int(np.sum(wanted != -99))
    assert parts > 40 * PARTS
    assert right / parts >= LEAST_SHARE, right / parts
