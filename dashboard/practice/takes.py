"""What is clapped along to: what sounds, and where a tap belongs.

Conventions: a take is either *on paper* (times in matras from its beginning, a sam, which the browser turns into
seconds by the laya) or *played* (a stretch of a recording, times in seconds of it). It begins with a lead-in: an
avartan on paper, some matras of a recording. Targets are in order, each ``{"x" or "s", "words", "short", "landing",
"opens"}``; ``opens`` tells the strokes that open a palla. In a recording a stroke is where it was heard, else where it
was due (:mod:`annotate.strokes_played`), a palla and the landing where they were marked.

A recording's grid is told as the rows that the beats of the listening pages are placed by (``assets/beats.mjs``).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import chain
from typing import Any

import numpy as np

from annotate.archive import Archive
from annotate.grid import Grid
from annotate.practice.errors import BadPiece
from annotate.practice.exercises.played import written_of
from annotate.practice.pieces import Piece as Played
from annotate.records import TihaiRecord
from annotate.strokes_played import played_strokes
from annotate.verify import section_of, verify
from dashboard import words
from dashboard.composing.score import score_of
from dashboard.figures.fold import tala_data
from dashboard.marking.strokes import strokes_of
from dashboard.theka import theka_strokes
from theory.composing import Piece
from theory.numbers import spoken
from theory.passage import Passage
from theory.tihai import LandingRule, Tihai, flat, landing_offset

LEAD_MATRAS = 8
"""Of a recording before the tihai: so many matras are enough to find the laya."""
AFTER_S = 1.2
"""Of a recording after its landing."""
LONGEST_S = 120.0


def take_on_paper(piece: Piece, name: str) -> dict[str, Any]:
    """Return a take of a tihai on paper."""
    score = score_of(piece)
    begin = score["lead_in"] + piece.start - 1
    return {
        "kind": "paper",
        "name": name,
        "sum": words.unbroken(piece.paper.sum),
        "tala": piece.tala.key,
        "talas": {piece.tala.key: tala_data(piece.tala)},
        "score": score,
        "targets": [{**target, "x": float(begin + target["x"])} for target in _targets(piece)],
    }


def _targets(piece: Piece) -> Iterator[dict[str, Any]]:
    """Yield every stroke of a tihai, in matras from its start, and the landing where it follows the pallas."""
    tihai: Tihai = piece.tihai
    landing = landing_offset(tihai, piece.rule)
    opens = set(_openings(piece))
    passage: Passage = flat(tihai)
    for note in passage.notes:
        place = spoken(piece.tala.wrap(piece.start - 1 + note.onset))
        yield {
            "x": note.onset,
            "words": f"{note.symbol}, matra {place}",
            "short": note.symbol,
            "landing": note.onset == landing,
            "opens": note.onset in opens,
        }
    if piece.rule == LandingRule.AFTER:
        yield {"x": landing, "words": "the landing", "short": "lands", "landing": True, "opens": False}


def _openings(piece: Piece) -> tuple[Fraction, ...]:
    """Return where each palla begins; of a chakradar each palla of each round."""
    if piece.round_dam is None:
        return piece.tihai.statement_onsets
    lead = piece.bol.length if piece.bol is not None else Fraction(0)
    step = piece.palla.length + piece.dam
    return tuple(turn + lead + step * number for turn in piece.tihai.statement_onsets for number in range(3))


def take_as_played(archive: Archive, played: Played) -> dict[str, Any]:
    """Return a take of a tihai as it was played.

    Raises
    ------
    BadPiece
        It has no sound, no marked pallas or no grid, or it is too long to be heard in one go.
    """
    record, tala = played.tihai, played.tala
    grid = archive.grid(played.slug)
    part = section_of(record, grid) if record is not None else None
    if record is None or tala is None or part is None or len(record.palla_s) < 2:
        raise BadPiece(
            f"{played.address} cannot be clapped along to: its pallas are not marked, or it lies on no grid."
        )
    if not archive.has_sound(played.slug):
        raise BadPiece(f"The archive has no sound of {played.slug}. Clap along to its notation instead.")
    from_s, to_s = _begin_s(part, record.palla_s[0]), record.landing_s + AFTER_S
    if to_s - from_s > LONGEST_S:
        raise BadPiece(f"{played.address} lasts longer than {LONGEST_S:.0f} s with its lead-in: choose a shorter one.")
    verdict = verify(record, grid, tala, played.slug)
    return {
        "kind": "played",
        "name": played.name,
        "sum": words.unbroken(verdict.paper.sum) if verdict.paper is not None else "",
        "slug": played.slug,
        "from_s": from_s,
        "to_s": to_s,
        "own_ms": verdict.landing_dev_ms,
        "tolerance_ms": verdict.tolerance_ms,
        "beats": {
            "data": _rows(part, from_s, to_s),
            "thekas": {part.tala.key: theka_strokes(part.tala) if part.tala.theka_known else []},
        },
        "targets": _as_played(archive, played.slug, record, part),
    }


def _begin_s(grid: Grid, start_s: float) -> float:
    """Return when the lead-in begins: on a matra, some before the tihai, not before the section."""
    begin = float(np.floor(grid.absolute(start_s) + 1e-3)) - LEAD_MATRAS
    return max(grid.time_of(*grid.split(begin)), grid.start_s, 0.0)


def _rows(grid: Grid, from_s: float, to_s: float) -> dict[str, Any]:
    """Return the avartans of a stretch as rows: the time of each matra and of the next sam."""
    first, last = (int(np.floor(grid.absolute(time_s) / grid.tala.matras)) + 1 for time_s in (from_s, to_s))
    matras = range(1, grid.tala.matras + 2)
    rows = [
        {"t": [round(grid.time_of(cycle, matra), 4) for matra in matras], "first": 1, "stretch": 0}
        for cycle in range(first, last + 1)
    ]
    return {"rows": rows, "stretches": [{"tala": grid.tala.key}], "talas": {grid.tala.key: tala_data(grid.tala)}}


def _as_played(archive: Archive, slug: str, record: TihaiRecord, grid: Grid) -> list[dict[str, Any]]:
    """Return where the strokes were heard; where nothing more is known, the pallas and the landing as marked."""
    strokes = played_strokes(record, grid, strokes_of(archive, slug))
    marked = list(record.palla_s)
    told = []
    for number, stroke in enumerate(strokes):
        opens = number == 0 or strokes[number - 1].palla != stroke.palla
        if stroke.is_landing:
            at_s = record.landing_s
        elif opens:
            at_s = marked[stroke.palla - 1]
        else:
            at_s = stroke.played_s if stroke.played_s is not None else stroke.due_s
        symbol = stroke.symbol or "lands"
        name = f"{symbol}, palla {stroke.palla}, matra {spoken(stroke.matra)}"
        told.append({"s": at_s, "words": name, "short": symbol, "landing": stroke.is_landing, "opens": opens})
    if told:
        return told
    pallas = ({"s": at_s, "words": f"palla {number}", "short": str(number)} for number, at_s in enumerate(marked, 1))
    opening = ({**each, "landing": False, "opens": True} for each in pallas)
    landing = {"s": record.landing_s, "words": "the landing", "short": "lands", "landing": True, "opens": False}
    return list(chain(opening, [landing]))


def on_paper(played: Played) -> Piece | None:
    """Return a tihai of the archive as it is written."""
    written = written_of([played])
    return written[0].piece if written else None
