"""What is wanted of a practice sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from annotate.exchange.tab import Hand
from theory.layout import Script

PaperSize = Literal["a4", "letter"]
PAPERS: dict[PaperSize, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in mm (ISO 216; ANSI/ASME Y14.1)."""


@dataclass(frozen=True)
class SheetWishes:
    """How a sheet is made.

    Attributes
    ----------
    script : {"latin", "devanagari", "typed"}
        Letters with Bhatkhande's signs, or (typed) as they are typed in this program.
    paper : {"a4", "letter"}
    hand : Hand or None
        The student's instrument, for the neck and the tab; None leaves both out.
    played : bool
        Say how it was played.
    raga : str
        Key or name of a raga to put first; '' for none.
    licence : str
        What the musicians allow; it follows their names.
    """

    script: Script = "latin"
    paper: PaperSize = "a4"
    hand: Hand | None = None
    played: bool = False
    raga: str = ""
    licence: str = ""
