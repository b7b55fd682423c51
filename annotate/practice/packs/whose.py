"""Whose performance a pack is made of, in words for the page, the sheets and the tags of sounds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from annotate.practice.pieces import Piece
from annotate.records import Recording


@dataclass(frozen=True)
class Performance:
    """A performance as a student is told of it; what is not known is ''."""

    slug: str
    title: str
    musicians: tuple[tuple[str, str], ...]
    performed_on: str
    venue: str

    @property
    def names(self) -> str:
        """The musicians with what they play: "Asha Rao (sitar), Imran Das (tabla)"."""
        return ", ".join(f"{name} ({role})" if role else name for role, name in self.musicians)

    @property
    def line(self) -> str:
        """All of it in one line."""
        place = ", ".join(filter(None, (self.venue, self.performed_on)))
        return "; ".join(filter(None, (self.names, self.title, place)))

    def to_json(self) -> dict[str, Any]:
        """Return it for the list of what a pack holds."""
        return {
            "recording": self.slug,
            "title": self.title,
            "musicians": [{"role": role, "name": name} for role, name in self.musicians],
            "performed_on": self.performed_on,
            "venue": self.venue,
        }


def performance_of(recording: Recording) -> Performance:
    """Return what is known of a performance."""
    played_on = recording.performed_on
    return Performance(
        recording.slug,
        recording.title,
        recording.musicians,
        "" if played_on is None else f"{played_on.day} {played_on:%B} {played_on.year}",
        recording.venue,
    )


def performances_of(pieces: Iterable[Piece]) -> tuple[Performance, ...]:
    """Return the performances that pieces are from, each once, in their order."""
    recordings = {each.slug: each.recording for each in pieces}
    return tuple(map(performance_of, recordings.values()))
