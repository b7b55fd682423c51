"""How hard a question is: from its arithmetic and its laya.

Points are given for what makes a sum harder, one thing after the other, and added up. Each is monotone: other things
equal, more of it is never easier.

========================  ==================================================================================
parts of a matra          whole 0, halves 2, thirds and quarters 3, up to eighths 4, up to sixteenths 5, ...
avartans until it lands   one 0, two 1, three or four 2, five to eight 3, ...
dam                       none 0, whole matras 1, with a fraction 2; the hardest of a chakradar's two
beginning                 sam 0, where a vibhag begins 1, another matra 2, between matras 3
target                    sam 0, elsewhere 1
what is asked             to count on 0, to count back to the start 1, to find a length 2
rounds                    a chakradar 4
the tala                  one point for each further length of vibhag, one where it is not two equal halves
laya                      up to 60 matras a minute 0, up to 120 one, up to 240 two, up to 480 three, ...
========================  ==================================================================================

Up to 3 points are level 1, up to 6 level 2, up to 9 level 3, up to 12 level 4, more level 5. The points are ours, from
memory of what students stumble over; no source. A teacher knows better: choose by ear, not by number.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from theory.exercises.question import Question
from theory.talas import Tala

Beginning = Literal["sam", "vibhag", "matra", "between"]
Dam = Literal["none", "whole", "fraction"]
BEGINNINGS: tuple[Beginning, ...] = ("sam", "vibhag", "matra", "between")
DAMS: tuple[Dam, ...] = ("none", "whole", "fraction")
UNHURRIED_MPM = 60
POINTS_A_LEVEL = 3
_HARDEST = 5
_ASKED = {"miss": 0, "start": 1, "dam": 2, "palla": 2, "round_dam": 2, "bol": 2}
_ROUNDS = 4


@dataclass(frozen=True)
class Measure:
    """What a question's difficulty is made of.

    Attributes
    ----------
    parts : int
        Into how many parts a matra is divided for start, lengths and target to be exact.
    cycles : int
        Avartans completed when it lands.
    dam : {"none", "whole", "fraction"}
    beginning : {"sam", "vibhag", "matra", "between"}
    elsewhere : bool
        Whether it aims elsewhere than at sam.
    asked : str
    rounds : bool
        Whether it is a chakradar.
    unevenness : int
        Of the tala, :func:`unevenness`.
    per_minute : int
        Matras a minute.
    """

    parts: int
    cycles: int
    dam: Dam
    beginning: Beginning
    elsewhere: bool
    asked: str
    rounds: bool
    unevenness: int
    per_minute: int

    @property
    def points(self) -> int:
        """All points together."""
        return (
            (0 if self.parts == 1 else 1 + (self.parts - 1).bit_length())
            + (max(self.cycles, 1) - 1).bit_length()
            + DAMS.index(self.dam)
            + BEGINNINGS.index(self.beginning)
            + self.elsewhere
            + _ASKED[self.asked]
            + _ROUNDS * self.rounds
            + self.unevenness
            + _doublings(self.per_minute)
        )

    @property
    def level(self) -> int:
        """From 1, the easiest, to 5."""
        return min(max(-(-self.points // POINTS_A_LEVEL), 1), _HARDEST)


def unevenness(tala: Tala) -> int:
    """Return the points of a tala: how many further lengths of vibhag, and one where it is not two equal halves."""
    half, odd = divmod(len(tala.vibhags), 2)
    halves = not odd and tala.vibhags[:half] == tala.vibhags[half:]
    return len(set(tala.vibhags)) - 1 + (not halves)


def measure(question: Question) -> Measure:
    """Return what a question's difficulty is made of."""
    piece = question.piece
    lengths = [piece.palla.length, piece.dam, piece.round_dam or Fraction(0)]
    if piece.bol is not None:
        lengths.append(piece.bol.length)
    stroke = piece.palla.length - piece.palla.last_onset
    counts = [*lengths, piece.start, piece.target, stroke]
    dams = (piece.dam, piece.round_dam or Fraction(0))
    return Measure(
        parts=math.lcm(*(count.denominator for count in counts)),
        cycles=piece.cycles,
        dam="fraction" if any(dam.denominator > 1 for dam in dams) else "whole" if any(dams) else "none",
        beginning=_beginning(piece.start, piece.tala),
        elsewhere=piece.target != 1,
        asked=question.asked,
        rounds=piece.round_dam is not None,
        unevenness=unevenness(piece.tala),
        per_minute=question.per_minute,
    )


def _beginning(start: Fraction, tala: Tala) -> Beginning:
    if start.denominator > 1:
        return "between"
    return "sam" if start == 1 else "vibhag" if start in tala.vibhag_starts else "matra"


def _doublings(per_minute: int) -> int:
    """Return how often the unhurried laya is doubled until it is as fast."""
    return (max(-(-per_minute // UNHURRIED_MPM), 1) - 1).bit_length()
