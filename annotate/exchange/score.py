"""What a page of notation shows: passages one after the other in a tala, from a matra on.

Conventions: everything is counted in matras as Fractions; the rhythm is as written, not as played. A score is written
out in avartans, or, where a palla is repeated, with repeat signs in bars of its own length.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from annotate.exchange.errors import CannotExport
from annotate.grid import Grid, RecordingGrid
from annotate.records import PhraseRecord, TihaiRecord
from annotate.transcription import Transcription
from annotate.verify import section_of, simple_fraction
from theory.notation import parse
from theory.numbers import spoken
from theory.passage import Passage, System, silence
from theory.talas import Tala, get_tala
from theory.tihai import LandingRule, Tihai, landing_offset

Repeats = Literal["written", "signs"]


@dataclass(frozen=True)
class Stretch:
    """A passage, and what stands in brackets above it ("palla 1"); nothing for a dam."""

    passage: Passage
    label: str = ""


@dataclass(frozen=True)
class Score:
    """What is written.

    Attributes
    ----------
    title : str
    tala : Tala or None
        None outside any: then all of it is one bar.
    start : Fraction
        The matra on which it begins, from 1.
    stretches : tuple of Stretch
    laya_mpm : float or None
        Matras a minute.
    lands : Fraction or None
        Where the landing stroke of a tihai comes, in matras from the beginning.
    cycle : bool
        Whether it goes round, as a theka does.
    """

    title: str
    tala: Tala | None
    start: Fraction
    stretches: tuple[Stretch, ...]
    laya_mpm: float | None
    lands: Fraction | None = None
    cycle: bool = False

    @property
    def length(self) -> Fraction:
        """Length of all of it, in matras."""
        return sum((each.passage.length for each in self.stretches), Fraction(0))

    @property
    def system(self) -> System:
        """Swaras or bols."""
        return next((each.passage.system for each in self.stretches if each.passage.notes), "empty")


def of_tihai(record: TihaiRecord, grid: RecordingGrid, title: str) -> Score:
    """Return a tihai written out: three pallas with the dam between, and where it lands.

    Raises
    ------
    CannotExport
        Its palla or dam is not written down.
    """
    palla = parse(record.palla)
    if not palla.notes or record.dam is None:
        missing = "dam" if palla.notes else "palla"
        raise CannotExport(f"Of tihai {record.tihai} no {missing} is written down: there is nothing to set in notes.")
    part = section_of(record, grid)
    offset = landing_offset(Tihai(palla, record.dam), record.rule)
    start_s, start = record.palla_s[0], record.start
    stretches: list[Stretch] = []
    for number in (1, 2, 3):
        if number > 1 and record.dam:
            stretches.append(Stretch(silence(record.dam)))
        stretches.append(Stretch(palla, f"palla {number}"))
    if record.rule == LandingRule.AFTER:
        stretches.append(Stretch(silence(Fraction(1))))
    return Score(
        f"{title}: tihai {record.tihai}",
        get_tala(record.tala) if record.tala else None,
        start if start is not None else _matra_at(part, start_s),
        tuple(stretches),
        _laya(part, start_s, record.landing_s) or float(60 * offset) / (record.landing_s - start_s),
        offset,
    )


def of_phrase(record: PhraseRecord, grid: RecordingGrid, title: str) -> Score:
    """Return a phrase in the tala in which it was played, from the matra on which it begins there."""
    passage = parse(record.swaras)
    part = grid.at(record.start_s)
    laya = _laya(part, record.start_s, record.end_s)
    return Score(
        f"{title}: phrase {record.phrase}",
        part.tala if part is not None else None,
        _matra_at(part, record.start_s),
        (Stretch(passage, record.role),),
        laya or float(60 * passage.length) / (record.end_s - record.start_s),
    )


def of_draft(drafted: Transcription, title: str) -> Score:
    """Return the draft of a stretch."""
    laya = 60 * (len(drafted.matra_s) - 1) / (drafted.matra_s[-1] - drafted.matra_s[0])
    where = f"{title}: {drafted.section}, from avartan {drafted.cycle} (draft)"
    return Score(where, drafted.tala, Fraction(drafted.matra), (Stretch(drafted.draft.passage),), laya)


def of_theka(part: Grid) -> Score:
    """Return the theka of a section's tala at its mean laya.

    Raises
    ------
    CannotExport
        The theka is not transcribed.
    """
    tala = part.tala
    if not tala.theka_known:
        raise CannotExport(f"The theka of {tala.name} is not in the tables. Write it in a file of your own.")
    laya = _laya(part, float(part.matra_s[0]), float(part.matra_s[-1]))
    return Score(f"{tala.name}: theka", tala, Fraction(1), (Stretch(tala.theka),), laya, cycle=True)


def with_signs(score: Score) -> tuple[Stretch, ...]:
    """Return the stretches of a tihai as they are written with repeat signs: palla and dam (twice), then the palla.

    Raises
    ------
    CannotExport
        It is no tihai, or its palla has a length that no metre can tell.
    """
    if score.lands is None:
        raise CannotExport("Only a tihai is written with repeat signs: leave --repeats out.")
    palla, after = score.stretches[0], score.stretches[1]
    dam = () if after.label else (after,)
    for each in (palla, *dam):
        parts = each.passage.length.denominator
        if parts & (parts - 1):
            raise CannotExport(
                f"A bar of {spoken(each.passage.length)} matras has no metre (its parts are no halves, quarters or "
                "eighths). Write the tihai out: --repeats written"
            )
    last = next(each for each in reversed(score.stretches) if each.label)
    return (replace(palla, label="palla 1 and 2"), *dam, last)


def _matra_at(part: Grid | None, time_s: float) -> Fraction:
    """Return the matra on which something begins, as a simple fraction; 1 outside any grid."""
    if part is None:
        return Fraction(1)
    _, matra = part.position(time_s)
    return (simple_fraction(matra, part.matra_length_s(time_s)) - 1) % part.tala.matras + 1


def _laya(part: Grid | None, start_s: float, end_s: float) -> float | None:
    if part is None:
        return None
    first, last = part.absolute([start_s, end_s])
    return float(60 * (last - first) / (end_s - start_s))
