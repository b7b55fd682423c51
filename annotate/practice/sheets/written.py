"""A passage as the signs that are printed, each with its place: what stands under which matra.

Conventions: places are counted in matras from a sam at 0. A sign is *held* where the note before it goes on, *silent*
in a dam. Signs are as in :mod:`theory.notation_print`; the printed page has a longer dash, and a dot for silence.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from theory.bhatkhande import spelled
from theory.layout import Script
from theory.notation_print import words
from theory.passage import Passage, join, silence

Kind = Literal["note", "held", "silent"]
_SIGNS: dict[str, tuple[Kind, str]] = {"-": ("held", "–"), "_": ("silent", "·")}


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign: where it stands, for how long, what is printed, and what it is."""

    place: Fraction
    length: Fraction
    written: str
    kind: Kind


def signs_of(passage: Passage, start: Fraction, script: Script) -> tuple[Sign, ...]:
    """Return the signs of a passage that begins on a matra (from 1 = sam), in order."""
    return tuple(each for each in _signs(passage, start, script) if each.place + each.length > start - 1)


def _signs(passage: Passage, start: Fraction, script: Script) -> Iterator[Sign]:
    before, inside = divmod(start - 1, 1)
    whole = join((silence(inside), passage)) if inside else passage
    shown = whole if script == "typed" else spelled(whole, script)
    for plain, word in zip(words(whole), words(shown), strict=True):
        length = Fraction(word.length.removeprefix(":") or 1) / len(word.signs)
        for count, (typed, sign) in enumerate(zip(plain.signs, word.signs, strict=True)):
            kind, written = _SIGNS.get(typed, ("note", sign))
            yield Sign(before + word.place + count * length, length, written, kind)
