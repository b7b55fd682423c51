"""A phrase on a sheet: the notation in its cycle, the neck, and how it was played."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from annotate.archive import Archive
from annotate.exchange.score import Stretch
from annotate.practice.pieces import Piece
from annotate.practice.sheets.credit import credit
from annotate.practice.sheets.cycle import cycle_drawing
from annotate.practice.sheets.drawing import Places
from annotate.practice.sheets.facts import piece_facts
from annotate.practice.sheets.key import key_of_written
from annotate.practice.sheets.neck import neck_drawing
from annotate.practice.sheets.piece_page import PiecePage, fretted, tuning_words
from annotate.practice.sheets.systems import Written, systems
from annotate.practice.sheets.wishes import SheetWishes
from annotate.records import PhraseRecord
from theory.clock import format_clock
from theory.layout import legend


@dataclass(frozen=True, kw_only=True)
class PhrasePage(PiecePage):
    """What stands on the part of a phrase beside that."""

    played: str
    kind: Literal["phrase"] = "phrase"


def phrase_page(
    archive: Archive, piece: Piece, record: PhraseRecord, wishes: SheetWishes, places: Places, width: float
) -> PhrasePage:
    """Put together the part of a phrase.

    Raises
    ------
    theory.errors.BadFretting
        A swara lies nowhere on the strings.
    """
    hand = wishes.hand if piece.script == "sargam" else None
    written = Written(
        passage=piece.passage,
        tala=piece.tala,
        start=piece.start,
        script=wishes.script,
        board=hand.board if hand is not None else None,
        places=fretted(hand, piece, [Stretch(piece.passage)]),
    )
    return PhrasePage(
        title=f"{record.role.capitalize() if record.role else 'Phrase'} {piece.key}",
        label="",
        credit=credit(piece.recording, wishes.licence),
        facts=piece_facts(piece),
        legend=legend(piece.tala) if piece.tala is not None else "",
        cycle=cycle_drawing(piece.tala, wishes.script, places, width) if piece.tala is not None else None,
        systems=tuple(systems(written, places, width)),
        neck=neck_drawing(hand.board, written.places, wishes.script, places, width) if hand is not None else None,
        tuning=tuning_words(hand),
        played=_played(archive, piece) if wishes.played else "",
        key=key_of_written(written),
    )


def _played(archive: Archive, piece: Piece) -> str:
    """Say when it was played, and where in the cycle."""
    lasts = f"{format_clock(piece.start_s, 2)} to {format_clock(piece.end_s, 2)} of the recording"
    part = archive.grid(piece.slug).at(piece.start_s)
    if part is None:
        return f"Played from {lasts}, outside any tala: in free time."
    _, due_s = part.nearest_occurrence(piece.start_s, piece.start)
    off_ms = round(1000 * (piece.start_s - due_s))
    off = f"{abs(off_ms)} ms {'late' if off_ms > 0 else 'early'}" if off_ms else "in time"
    return f"Played from {lasts}. It begins {off}."
