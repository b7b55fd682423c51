"""Which strokes of a chakradar meet sam: round by round, phrase by phrase.

Conventions: a *round* is what a chakradar plays three times; it ends with a tihai of *phrases*. The *dhas* are the
strokes that close a phrase: the run of equal strokes at its end (``Ti Ti Dha Dha`` closes with two). Where the landing
stroke is counted after the palla, the dha of a phrase is the stroke that follows it. Rounds, phrases and dhas are
numbered from 1; positions count matras from the sam of the cycle the chakradar begins in, that sam being 1.

References
----------
Sitar-Malika (Hindi Wikisource scan), pp. 151-159 (sadharan, farmaishi, kamali); tablalegacy.com, chakradaar.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from theory.numbers import stored
from theory.passage import Passage
from theory.talas import Tala
from theory.tihai import Chain, LandingRule, Tihai, Unit, flat


@dataclass(frozen=True, slots=True)
class Dha:
    """One closing stroke: its round, phrase and number within the phrase, its number in all, and its position."""

    round: int
    phrase: int
    dha: int
    number: int
    position: Fraction

    def to_json(self) -> dict[str, Any]:
        """Return it as a row for JSON; the position as "n/d"."""
        return {
            "round": self.round,
            "phrase": self.phrase,
            "dha": self.dha,
            "number": self.number,
            "position": stored(self.position),
        }


def closing_onsets(phrase: Passage) -> tuple[Fraction, ...]:
    """Return where the equal strokes at the end of a phrase begin, in matras from its start."""
    last = phrase.notes[-1].symbol
    closing = []
    for note in reversed(phrase.notes):
        if note.symbol != last:
            break
        closing.append(note.onset)
    return tuple(reversed(closing))


def dhas_of(tihai: Tihai, rule: LandingRule, start: Fraction = Fraction(1)) -> tuple[Dha, ...]:
    """Return every closing stroke of a chakradar or nauhakka, in order.

    Parameters
    ----------
    tihai : Tihai
        Its palla is the round.
    rule : LandingRule
        Whether the dha is the phrase's last stroke, or the one that follows it.
    start : Fraction, optional
        The matra it begins on.

    Returns
    -------
    tuple of Dha
        Empty when the palla holds no tihai.
    """
    found = _last_tihai(tihai.palla)
    if found is None:
        return ()
    begin, inner = found
    closing = closing_onsets(flat(inner.palla)) if rule == LandingRule.WITHIN else (inner.palla.length,)
    places = (
        (turn, phrase, dha, start + round_onset + begin + phrase_onset + onset)
        for turn, round_onset in enumerate(tihai.statement_onsets, 1)
        for phrase, phrase_onset in enumerate(inner.statement_onsets, 1)
        for dha, onset in enumerate(closing, 1)
    )
    return tuple(Dha(turn, phrase, dha, number, at) for number, (turn, phrase, dha, at) in enumerate(places, 1))


def hits(tala: Tala, dhas: tuple[Dha, ...], target: Fraction = Fraction(1)) -> tuple[Dha, ...]:
    """Return the closing strokes that meet the target, sam unless another is named."""
    return tuple(dha for dha in dhas if (dha.position - target) % tala.matras == 0)


def chakradar_kind(tala: Tala, dhas: tuple[Dha, ...], target: Fraction = Fraction(1)) -> str:
    """Tell a chakradar's kind by which of its closing strokes meet the target.

    Returns
    -------
    str
        ``"kamali"``, ``"farmaishi"``, ``"sadharan"`` (of these, only the last stroke meets it), or ``""`` when the
        last stroke does not meet it either.
    """
    met = {(dha.round, dha.phrase, dha.dha) for dha in hits(tala, dhas, target)}
    if not dhas or (dhas[-1].round, dhas[-1].phrase, dhas[-1].dha) not in met:
        return ""
    rounds, phrases, closing = dhas[-1].round, dhas[-1].phrase, dhas[-1].dha
    if rounds == phrases == closing and all((k, k, k) in met for k in range(1, rounds + 1)):
        return "kamali"
    if rounds == phrases and all((k, k, closing) in met for k in range(1, rounds + 1)):
        return "farmaishi"
    return "sadharan"


def _last_tihai(unit: Unit) -> tuple[Fraction, Tihai] | None:
    """Return the tihai that closes a round, and where in the round it begins."""
    if isinstance(unit, Tihai):
        return Fraction(0), unit
    return next(_tihais_from_the_end(unit), None) if isinstance(unit, Chain) else None


def _tihais_from_the_end(chain: Chain) -> Iterator[tuple[Fraction, Tihai]]:
    for begin, part in zip(reversed(chain.part_onsets), reversed(chain.parts), strict=True):
        if isinstance(part, Tihai):
            yield begin, part
        elif isinstance(part, Chain):
            yield from ((begin + onset, inner) for onset, inner in _tihais_from_the_end(part))
