"""What is asked of a practice sheet in an address, and the addresses that ask for one.

Conventions: ``script``, ``paper``, ``played`` (1), ``tuning``, ``sa`` (a note, D4; left out, the nearest to the
recording's Sa), ``frets``, ``capo``. What is left out is as :class:`annotate.practice.sheets.SheetWishes` has it.
"""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

from annotate.exchange.midi_keys import sa_key
from annotate.exchange.tab import Hand
from annotate.practice.errors import CannotPrint
from annotate.practice.sheets.wishes import PAPERS, PaperSize, SheetWishes
from theory.errors import BadFretting
from theory.fretboard import Fretboard, note_to_semitones, parse_tuning
from theory.layout import Script

SCRIPTS: dict[Script, str] = {"latin": "Latin letters", "devanagari": "Devanagari", "typed": "as typed (r R g G)"}
PAPER_WORDS: dict[PaperSize, str] = {"a4": "A4", "letter": "Letter"}
ASKED = ("script", "paper", "played", "tuning", "sa", "frets", "capo")


def sheet_address(slug: str, *keys: str) -> str:
    """Return where the sheet of rows of a recording is."""
    return f"/practice/sheet/{quote(slug)}/{quote(','.join(keys))}"


def raga_sheet_address(raga: str) -> str:
    """Return where the sheet of a raga is."""
    return f"/practice/raga-sheet/{quote(raga)}"


def wishes_of(asked: Mapping[str, str], sa_hz: float | None, raga: str = "") -> SheetWishes:
    """Read what is wished for.

    Raises
    ------
    annotate.practice.errors.CannotPrint, theory.errors.BadFretting
        Something is asked that there is not.
    """
    script, paper = asked.get("script") or "latin", asked.get("paper") or "a4"
    if script not in SCRIPTS:
        raise CannotPrint(f"There is no script '{script}': choose one of {', '.join(SCRIPTS)}.")
    if paper not in PAPERS:
        raise CannotPrint(f"There is no paper '{paper}': choose one of {', '.join(PAPERS)}.")
    hand = _hand(asked, sa_hz) if asked.get("tuning", "").strip() else None
    return SheetWishes(script, paper, hand, asked.get("played") == "1", raga)


def _hand(asked: Mapping[str, str], sa_hz: float | None) -> Hand:
    frets = _number(asked.get("frets") or "19", "frets")
    board = Fretboard(parse_tuning(asked["tuning"]), frets, _number(asked.get("capo") or "0", "capo"))
    return Hand(board, note_to_semitones(asked["sa"].strip()) if asked.get("sa", "").strip() else sa_key(sa_hz)[0])


def _number(text: str, what: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) < 4):
        raise BadFretting(f"'{text}' is no number: write {what} as 19.")
    return int(text)
