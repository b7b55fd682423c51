"""A piece's run through the cycles: for the drawing of the Cycles page as plain data, and small as a drawing.

Conventions: as on the Cycles page (:mod:`dashboard.figures.fold`), a matra being a second long. Positions count matras
from the sam of the cycle in which the piece begins, that sam being 0. The run has an avartan for each cycle that the
piece is in, and one more for a landing on its sam.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from dashboard.figures.fold import Stretch, fold_rows, tala_data, ticks
from dashboard.figures.runs import PhraseRun, TihaiRun, add_phrases, add_tihais, lanes_of
from theory.composing import Piece
from theory.passage import Passage
from theory.tihai import flat, landing_offset

_RUNS = ("pallas", "links", "landings", "aims")
_MATRA_S = 1.0


@dataclass(frozen=True)
class Run:
    """Where a piece runs.

    Attributes
    ----------
    rounds : tuple of tuple of Fraction
        Where the pallas of each round begin; a plain tihai is one round.
    bols : tuple of Fraction
        Where the bols of a chakradar begin.
    landing : Fraction
        Where it lands.
    avartans : int
        How many it runs through.
    """

    rounds: tuple[tuple[Fraction, ...], ...]
    bols: tuple[Fraction, ...]
    landing: Fraction
    avartans: int


def run_of(piece: Piece) -> Run:
    """Return where a piece runs."""
    begin = piece.start - 1
    landing = begin + landing_offset(piece.tihai, piece.rule)
    lead = piece.bol.length if piece.bol is not None else Fraction(0)
    step = piece.palla.length + piece.dam
    turns = piece.tihai.statement_onsets if piece.round_dam is not None else (Fraction(0),)
    rounds = tuple(tuple(begin + turn + lead + step * number for number in range(3)) for turn in turns)
    bols = tuple(begin + turn for turn in turns) if piece.bol is not None else ()
    end = max(landing, begin + piece.tihai.length - Fraction(1, 10_000))
    return Run(rounds, bols, landing, int(end // piece.tala.matras) + 1)


def drawing_data(piece: Piece) -> dict[str, Any]:
    """Return the run as the modules of the Cycles page draw it: outline and what stands in the rows."""
    run, tala = run_of(piece), piece.tala
    count = tala.matras * run.avartans
    matra = np.arange(count)
    stretch = Stretch(
        tala.name, 0.0, float(count), tala, matra // tala.matras + 1, matra % tala.matras + 1, matra * _MATRA_S
    )
    rows = fold_rows([stretch], float(count))
    lands = piece.paper.lands
    for number, pallas in enumerate(run.rounds, 1):
        last = number == len(run.rounds)
        end = float(run.landing) if last else float(pallas[-1] + piece.palla.length)
        played = TihaiRun(
            tihai=str(number),
            palla_s=tuple(map(float, pallas)),
            landing_s=end,
            palla_matras=piece.palla.length,
            notes=_notes(piece.palla),
            title=f"Palla of {float(piece.palla.length):g} matras",
            verdict="lands" if lands else "misses",
            landing_text=_landing_words(piece) if last else "",
            aim_s=None if lands or not last else float(run.landing + piece.paper.shortfall),
        )
        add_tihais(rows, [played])
    bol = piece.bol
    if bol is not None:
        shares = tuple((float(note.onset / bol.length), note.symbol) for note in bol.notes)
        texts = " ".join(note.symbol for note in bol.notes)
        spans = [(float(begin), float(begin + bol.length)) for begin in run.bols]
        add_phrases(rows, [PhraseRun("bol", *span, texts, "bol", shares) for span in spans])
    for row in rows:  # only the last round lands
        row["landings"] = [each for each in row["landings"] if each["id"] == str(len(run.rounds))]
    return {
        "tala": tala.key,
        "talas": {tala.key: tala_data(tala)},
        "stretches": [
            {"title": tala.name, "start_s": 0.0, "end_s": float(count), "tala": tala.key, "columns": tala.matras}
        ],
        "strokes": False,
        "swaras": [],
        "rows": [
            {
                "stretch": row["stretch"],
                "label": row["label"],
                "first": row["first"],
                "ticks": ticks(row),
                "marked": False,
                "key": str(index),
                "range": None,
                "tihais": lanes_of(row, _RUNS),
                "phrases": lanes_of(row, ("phrases",)),
                "landings": len(row["landings"]),
                "detail": {name: row[name] for name in (*_RUNS, "phrases")},
            }
            for index, row in enumerate(rows)
        ],
    }


def _notes(palla: Passage) -> tuple[tuple[Fraction, str], ...]:
    return tuple((note.onset, note.symbol) for note in palla.notes)


def _landing_words(piece: Piece) -> str:
    where = piece.tala.name_of(piece.paper.landing_matra)
    return f"lands on {where}" if piece.paper.lands else f"comes on {where}"


@dataclass(frozen=True)
class Bar:
    """A piece of a small drawing: from x, in matras, so wide, in which row; what it stands for."""

    row: int
    x: float
    width: float
    kind: str


@dataclass(frozen=True)
class SmallRun:
    """A run drawn small: bars row by row, and the landing."""

    matras: int
    rows: int
    vibhags: tuple[int, ...]
    bars: tuple[Bar, ...]
    landing: tuple[int, float]
    lands: bool


def small_run(piece: Piece) -> SmallRun:
    """Return a run to be drawn small."""
    run, matras = run_of(piece), piece.tala.matras
    bars: list[Bar] = []
    for begin in run.bols:
        bars += _cut(begin, begin + (piece.bol.length if piece.bol is not None else 0), matras, "bol")
    for pallas in run.rounds:
        for number, begin in enumerate(pallas):
            bars += _cut(begin, begin + piece.palla.length, matras, "palla")
            if piece.dam and number < len(pallas) - 1:
                bars += _cut(begin + piece.palla.length, begin + piece.palla.length + piece.dam, matras, "dam")
    place = divmod(run.landing, matras)
    rows = max(run.avartans, int(place[0]) + 1)
    landing = (int(place[0]), float(place[1]))
    return SmallRun(matras, rows, piece.tala.vibhag_starts, tuple(bars), landing, piece.paper.lands)


def _cut(begin: Fraction, end: Fraction, matras: int, kind: str) -> list[Bar]:
    """Cut a stretch at every sam."""
    bars = []
    while begin < end:
        row = int(begin // matras)
        until = min(end, Fraction((row + 1) * matras))
        bars.append(Bar(row, float(begin - row * matras), float(until - begin), kind))
        begin = until
    return bars


def flat_passage(piece: Piece) -> Passage:
    """Return a piece written out, every palla and bol in its place."""
    return flat(piece.tihai)
