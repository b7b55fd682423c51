"""What is kept, as plain values for the page's templates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from annotate.compositions.shelf import Kept, Shelf
from dashboard import words
from dashboard.composing.asked import PATH, address, composition_fields
from dashboard.composing.run import SmallRun, small_run

SHOWN_NOTES = 160


@dataclass(frozen=True)
class KeptRow:
    """A composition in the list."""

    key: str
    name: str
    notes: str
    tala: str
    sum: str
    when: str
    who: str
    number: int
    small: SmallRun
    href: str
    score: str


def kept_of(shelf: Shelf, *, may_keep: bool) -> dict[str, Any]:
    """Return what the list of kept compositions shows."""
    return {
        "rows": [_row(each) for each in shelf.all()],
        "gone": [_row(each) for each in shelf.all(withdrawn=True)] if may_keep else [],
        "unread": [(name, str(why).partition("\n")[0]) for name, why in shelf.unread()],
        "may_keep": may_keep,
    }


def opened_from(kept: Kept | None) -> dict[str, Any]:
    """Return what the opened piece shows of the composition that it was kept as."""
    if kept is None:
        return {"kept_key": "", "kept_name": "", "kept_notes": "", "kept_seen": "", "kept_history": []}
    history = [
        {
            "when": f"{each.when:%-d %b %Y, %H:%M} UTC",
            "who": each.who,
            "why": each.why,
            "sum": words.unbroken(each.content.piece.paper.sum),
        }
        for each in reversed(kept.revisions)
    ]
    return {
        "kept_key": kept.key,
        "kept_name": kept.content.name,
        "kept_notes": kept.content.notes,
        "kept_seen": str(kept.latest.number),
        "kept_history": history,
    }


def _row(kept: Kept) -> KeptRow:
    composition = kept.content
    piece, notes = composition.piece, composition.notes
    opens = composition_fields(kept.key, composition)
    return KeptRow(
        kept.key,
        composition.name,
        notes if len(notes) <= SHOWN_NOTES else f"{notes[:SHOWN_NOTES].rstrip()} …",
        piece.tala.name,
        words.unbroken(piece.paper.sum),
        words.day(kept.latest.when.date()),
        kept.latest.who,
        kept.latest.number,
        small_run(piece),
        address(opens),
        address({**opens, "kept": ""}).replace(PATH, f"{PATH}/score", 1),
    )
