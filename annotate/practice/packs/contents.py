"""What a pack holds: pieces with their files and sounds, whose they are and what may be done with them.

Conventions: names of files are relative to the pack, with slashes. Times are seconds in a sound, places are matras from
the beginning of a piece. The listing ``pack.json`` has plain keys of our own.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from annotate.exchange.score import Score
from annotate.practice.packs.chapters import PackedChapter
from annotate.practice.packs.licences import Licence
from annotate.practice.packs.names import LISTING
from annotate.practice.packs.whose import Performance, performance_of, performances_of
from annotate.practice.pieces import Piece
from theory.numbers import stored

VERSION = 1


@dataclass(frozen=True)
class Part:
    """A part of a sound that can go round by itself, and what it is called: "palla 2"."""

    begin_s: float
    end_s: float
    words: str

    def to_json(self) -> dict[str, Any]:
        """Return it for the listing and for the page."""
        return {"begin_s": round(self.begin_s, 6), "end_s": round(self.end_s, 6), "words": self.words}


@dataclass(frozen=True)
class PackedSound:
    """A sound in a pack.

    Attributes
    ----------
    file, script : str
        The sound itself, and the script that brings its bytes to the player.
    group, words : str
        What it is of ("As played") and which of these ("65 %").
    duration_s : float
    parts : tuple of Part
        The first is the whole of what goes round.
    places : tuple of (Fraction, float)
        Where known places of the piece stand in the sound, in order.
    """

    file: str
    script: str
    group: str
    words: str
    duration_s: float
    parts: tuple[Part, ...]
    places: tuple[tuple[Fraction, float], ...]

    @property
    def key(self) -> str:
        """What the player calls it."""
        return Path(self.file).stem

    def to_json(self) -> dict[str, Any]:
        """Return it for the listing."""
        return {
            "file": self.file,
            "script": self.script,
            "of": self.group,
            "words": self.words,
            "duration_s": round(self.duration_s, 6),
            "parts": [part.to_json() for part in self.parts],
        }


@dataclass(frozen=True)
class PackedPiece:
    """A piece and its files; a sheet or MusicXML is '' where none was made."""

    piece: Piece
    score: Score
    stem: str
    musicxml: str
    midi: str
    sheet_html: str
    sheet_pdf: str
    sounds: tuple[PackedSound, ...]

    def to_json(self) -> dict[str, Any]:
        """Return it for the listing."""
        return {
            "piece": self.piece.address,
            "name": self.piece.name,
            "raga": self.piece.raga,
            "tala": self.piece.tala.key if self.piece.tala is not None else None,
            "start": stored(self.score.start),
            "length": stored(self.score.length),
            "lands": None if self.score.lands is None else stored(self.score.lands),
            "matras_a_minute": None if self.piece.per_minute is None else round(self.piece.per_minute, 3),
            "performance": performance_of(self.piece.recording).slug,
            "musicxml": self.musicxml or None,
            "midi": self.midi,
            "sheet": self.sheet_html or None,
            "sheet_pdf": self.sheet_pdf or None,
            "sounds": [sound.to_json() for sound in self.sounds],
        }


@dataclass(frozen=True)
class Pack:
    """A pack; the sheets are of all its pieces together, '' where none was made; without chapters there are none."""

    title: str
    licence: Licence
    pieces: tuple[PackedPiece, ...]
    sheet_html: str = ""
    sheet_pdf: str = ""
    chapters: tuple[PackedChapter, ...] = ()

    @property
    def performances(self) -> tuple[Performance, ...]:
        """The performances that it is made of."""
        return performances_of(each.piece for each in self.pieces)


def listing(pack: Pack, folder: Path) -> str:
    """Return the listing of a pack whose other files lie in a folder, each with its length and SHA-256."""
    told = {
        "layakosh_pack": VERSION,
        "title": pack.title,
        "licence": {
            "key": pack.licence.key,
            "name": pack.licence.name,
            "says": pack.licence.says,
            "address": pack.licence.address,
        },
        "performances": [each.to_json() for each in pack.performances],
        "sheet": pack.sheet_html or None,
        "sheet_pdf": pack.sheet_pdf or None,
        "pieces": [each.to_json() for each in pack.pieces],
        **({"chapters": [each.to_json() for each in pack.chapters]} if pack.chapters else {}),
        "files": {name: _digest(path) for name, path in files_of(folder) if name != LISTING},
    }
    return json.dumps(told, indent=1, ensure_ascii=False) + "\n"


def files_of(folder: Path) -> Iterator[tuple[str, Path]]:
    """Yield the files of a folder in the order of their names."""
    for path in sorted(each for each in folder.rglob("*") if each.is_file()):
        yield path.relative_to(folder).as_posix(), path


def _digest(path: Path) -> dict[str, Any]:
    content = path.read_bytes()
    return {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
