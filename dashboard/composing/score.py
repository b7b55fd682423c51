"""What sounds of a piece, in matras: one avartan of theka, then the piece to its landing, and again.

Conventions: x counts matras from the loop's beginning, which is a sam. An event is ``[x, sound, level, matras]``: how
loud, 0 to 1, and for how long it may ring. Sounds are those of :mod:`dashboard.composing.sounds`. A landing on sam
comes with the sam that begins the loop again. Where landing is counted after the palla, the landing stroke is added; a
tala whose theka is not transcribed is ticked, matra by matra.
"""

from __future__ import annotations

import math
from fractions import Fraction
from functools import lru_cache
from typing import Any

from dashboard.composing.run import flat_passage, run_of
from dashboard.theka import theka_strokes
from theory.bols import Bol, strokes
from theory.composing import Piece
from theory.errors import UnknownName
from theory.passage import Note, Passage
from theory.swaras import semitones_of
from theory.talas import Tala
from theory.tihai import LandingRule

LEVEL, LANDING_LEVEL = 0.85, 1.0
PLAIN_STROKE = "none-dead"
"""What a bol that no table knows sounds like."""
_LANDING = {"bols": "Dha", "sargam": "S"}
_RINGS_MATRAS = Fraction(2)


def score_of(piece: Piece) -> dict[str, Any]:
    """Return what sounds: ``{matras, avartan, lead_in, landing, events, theka, ticked, plain}``.

    ``events`` are the piece's, ``theka`` that of one avartan; ``plain`` lists the bols that sound as a plain stroke.
    """
    run, tala = run_of(piece), piece.tala
    avartans = 1 + max(1, math.ceil(run.landing / tala.matras))
    shift = tala.matras + piece.start - 1
    passage, plain = flat_passage(piece), sorted(_unknown(piece))
    landing = tala.matras + run.landing
    events = [
        [float(shift + x), sound, LANDING_LEVEL if shift + x == landing else LEVEL, float(length)]
        for x, sound, length in sounding(passage)
    ]
    if piece.rule == LandingRule.AFTER:
        stroke = Passage(passage.system, (Note(_LANDING[passage.system], Fraction(0), _RINGS_MATRAS),), _RINGS_MATRAS)
        events += [[float(landing), sound, LANDING_LEVEL, float(length)] for _, sound, length in sounding(stroke)]
    return {
        "matras": avartans * tala.matras,
        "avartan": tala.matras,
        "lead_in": tala.matras,
        "landing": float(landing),
        "events": events,
        "theka": theka_strokes(tala) if tala.theka_known else ticks(tala),
        "ticked": not tala.theka_known,
        "plain": plain,
    }


def sounding(passage: Passage) -> list[tuple[Fraction, str, Fraction]]:
    """Return onset, sound and length of what sounds in a passage, in matras from its beginning."""
    if passage.system == "sargam":
        return [(note.onset, f"pluck{semitones_of(note.symbol)}", note.length) for note in passage.notes]
    known = _known(passage)
    struck = [(each.onset, _sound(each.bol), each.length) for each in strokes(known)] if known.notes else []
    others = [(note.onset, PLAIN_STROKE, note.length) for note in passage.notes if not _is_known(note.symbol)]
    return sorted((each for each in (*struck, *others) if each[1] != "none-none"), key=lambda each: each[0])


def ticks(tala: Tala) -> list[list[Any]]:
    """Return a stroke for every matra of a tala, stronger where a vibhag begins."""
    return [
        [float(matra - 1), "none-rim" if matra == 1 else PLAIN_STROKE, 1.0 if matra in tala.vibhag_starts else 0.6]
        for matra in range(1, tala.matras + 1)
    ]


def _sound(bol: Bol) -> str:
    from sample_data.touch import tone_of

    return f"{bol.bass}-{tone_of(bol.name) if bol.treble == 'rings' else bol.treble}"


@lru_cache(maxsize=512)
def _is_known(symbol: str) -> bool:
    try:
        strokes(Passage("bols", (Note(symbol, Fraction(0), Fraction(1)),), Fraction(1)))
    except UnknownName:
        return False
    return True


def _known(passage: Passage) -> Passage:
    return Passage("bols", tuple(note for note in passage.notes if _is_known(note.symbol)), passage.length)


def _unknown(piece: Piece) -> set[str]:
    passages = [piece.palla, *([piece.bol] if piece.bol is not None else [])]
    return {
        note.symbol for each in passages if each.system == "bols" for note in each.notes if not _is_known(note.symbol)
    }
