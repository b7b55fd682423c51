"""A practice sound made in a process of its own (:mod:`annotate.beside`), for whoever has others waiting."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from annotate.archive import Archive
from annotate.practice.pieces import piece
from annotate.practice.sounds.wishes import SoundWishes


def make_sound(place: str, address: str, wishes: SoundWishes, path: Path, tell: Callable[[float], None]) -> None:
    """Make the sound of a piece of the archive at a place, as :func:`annotate.practice.sounds.write_sound` does."""
    from annotate.practice.sounds.writing import write_sound

    archive = Archive.open(place)
    write_sound(archive, piece(archive, address), wishes, path, tell)
