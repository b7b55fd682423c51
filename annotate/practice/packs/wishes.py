"""What is wanted of a pack."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from annotate.practice.packs.chapters import PackedChapter
from annotate.practice.packs.licences import NONE, Licence
from annotate.practice.sheets.wishes import SheetWishes

USUAL_SPEEDS = (Fraction(50), Fraction(65), Fraction(80), Fraction(100))
"""Of what was played, in percent."""
USUAL_NOTATION_SPEEDS = (Fraction(60), Fraction(100))
"""Of the laya in which it was played, for what is played from the notation."""


@dataclass(frozen=True)
class PackWishes:
    """How a pack is made.

    Attributes
    ----------
    title : str
    licence : Licence
    speeds, notation_speeds : tuple of Fraction
        A sound for each, in percent; none where it is empty.
    sheet : SheetWishes
        Of every sheet; its script is also that of the page's notation. Its raga opens the sheet of all pieces.
    pdf : bool
        Whether sheets are made as PDF too.
    sa : int or None
        The key of the middle Sa in MusicXML and MIDI (60 is middle C); None: what is nearest to each recording's own,
        and MIDI tuned to it.
    chapters : tuple of PackedChapter
        Into which the pieces are put; empty where they stand one after the other.
    """

    title: str
    licence: Licence = NONE
    speeds: tuple[Fraction, ...] = USUAL_SPEEDS
    notation_speeds: tuple[Fraction, ...] = USUAL_NOTATION_SPEEDS
    sheet: SheetWishes = field(default_factory=SheetWishes)
    pdf: bool = True
    sa: int | None = None
    chapters: tuple[PackedChapter, ...] = ()
