"""What the index says of every tihai and phrase so that they can be searched: the arithmetic, the moves of the line.

Conventions
-----------
* ``after_palla`` and ``after_dam`` are palla and dam as the *after* rule counts them: the palla up to its landing
  stroke, the dam from there to the next palla. Written by either rule, what sounds the same has the same two numbers.
* A *move* leads from one swara to the next. In semitones it is told by pitch; in steps by the raga's own ladder: the
  degrees (sa re ga ma pa dha ni) that the raga uses, komal, shuddha and tivra of one degree being one rung. So Ga to Pa
  is one step in Bhupali and two in Yaman. Where the raga is not in the table, all seven degrees are rungs.
* Moves are kept as text, a word each: ``"+3 -1 0"``; ``None`` where they cannot be told (bols, a swara on no rung).
* Laya is the mean over the phrase, or from the first palla to the landing, in matras a minute.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Any

from annotate.grid import RecordingGrid
from annotate.records import TihaiRecord
from theory.errors import BadTihai, NotationError, UnknownName
from theory.kinds import kinds_of
from theory.notation import parse
from theory.numbers import stored
from theory.paper import PaperCheck
from theory.passage import Passage
from theory.ragas import get_raga
from theory.recognise import recognise
from theory.swaras import semitones_of, split_symbol
from theory.tihai import Chain, LandingRule, Tihai, Unit

DEGREES = "SRGMPDN"
"""The seven degrees, by the capital letters of their swaras."""


@lru_cache(maxsize=4096)
def symbols_of(swaras: str) -> str:
    """Return the notes of a phrase one by one, whatever their rhythm: ``"RmP nDP"`` becomes ``"R m P n D P"``."""
    try:
        return " ".join(parse(swaras).symbols)
    except NotationError:
        return " ".join(swaras.split())  # written before the notation was checked, or by other means


@lru_cache(maxsize=4096)
def semitone_moves(symbols: str) -> str | None:
    """Return the moves of a line in semitones: ``"S R m S'"`` is ``"+2 +3 +7"``."""
    try:
        return _moves([semitones_of(symbol) for symbol in symbols.split()])
    except NotationError:
        return None


@lru_cache(maxsize=4096)
def step_moves(symbols: str, raga: str) -> str | None:
    """Return the moves of a line in steps of a raga's ladder: ``"G P"`` is ``"+1"`` in Bhupali."""
    rungs = ladder_of(raga)
    heights = []
    try:
        for symbol in symbols.split():
            swara, octave = split_symbol(symbol)
            heights.append(rungs.index(swara.letter.upper()) + len(rungs) * octave)
    except (NotationError, ValueError):
        return None
    return _moves(heights)


@lru_cache(maxsize=256)
def ladder_of(raga: str) -> str:
    """Return the degrees that a raga uses, Sa first; all seven where it is not in the table."""
    try:
        used = {letter.upper() for letter in get_raga(raga).swaras}
    except UnknownName:
        return DEGREES
    return "".join(degree for degree in DEGREES if degree in used)


def laya_columns(grid: RecordingGrid, start_s: float, end_s: float) -> dict[str, Any]:
    """Return the mean laya of a stretch that lies in one section with matras."""
    section = grid.at(start_s)
    if section is None or end_s <= start_s:
        return {"laya_matras_per_min": None}
    first, last = section.absolute([start_s, end_s])
    return {"laya_matras_per_min": 60 * float(last - first) / (end_s - start_s)}


def phrase_columns(symbols: str, raga: str) -> dict[str, Any]:
    """Return the raga and the moves of a phrase."""
    return {"raga": raga, "semitones": semitone_moves(symbols), "steps": step_moves(symbols, raga)}


def tihai_columns(record: TihaiRecord, paper: PaperCheck | None, raga: str) -> dict[str, Any]:
    """Return what the arithmetic of a tihai tells to a search; None where nothing is written."""
    palla = _palla_of(record.palla)
    columns: dict[str, Any] = {"raga": raga, "symbols": symbols_of(record.palla), "kinds": ""}
    columns |= dict.fromkeys(("palla_length", "palla_length_matras", "after_palla", "after_dam"))
    if palla is None:
        return columns
    columns |= {"palla_length": stored(palla.length), "palla_length_matras": float(palla.length)}
    if record.dam is not None:
        body = palla.last_onset if record.rule == LandingRule.WITHIN else palla.length
        columns |= {"after_palla": stored(body), "after_dam": stored(palla.length + record.dam - body)}
    if paper is not None:
        columns["kinds"] = " ".join(each.key for each in _kinds(paper, record.palla))
    return columns


def _moves(heights: Sequence[int]) -> str:
    return " ".join(f"{there - here:+d}" if there != here else "0" for here, there in pairwise(heights))


@lru_cache(maxsize=4096)
def _palla_of(text: str) -> Passage | None:
    try:
        palla = parse(text)
    except NotationError:
        return None
    return palla if palla.notes else None


def _kinds(paper: PaperCheck, palla: str) -> Iterable[Any]:
    tihai = Tihai(_nested(palla), paper.tihai.dam)
    return kinds_of(paper.tala, paper.start, tihai, paper.rule, paper.target)


@lru_cache(maxsize=4096)
def _nested(text: str) -> Unit:
    """Return a palla with the tihai that closes it: then the whole is a chakradar or a nauhakka.

    A stroke that comes three times at the end ("Dha Dha Dha") is no tihai here: two strokes at least.
    """
    palla = parse(text)
    found = recognise(palla)
    if found is None or found.after.notes or len(found.tihai.palla.onsets) < 2:
        return palla
    parts = tuple(part for part in (found.before, found.tihai, found.after) if part.length)
    unit: Unit = parts[0] if len(parts) == 1 else Chain(parts)
    try:
        return unit if unit.length == palla.length else palla
    except BadTihai:
        return palla
