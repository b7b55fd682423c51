"""What the files of a pack are called: a-z, 0-9 and hyphens, the same for the same piece in every pack.

So they survive every zip program, file system and phone, and a link to one holds when a pack is made again.
"""

from __future__ import annotations

import hashlib

from annotate.practice.pieces import Piece
from annotate.slugs import is_slug, slug_of

INDEX = "index.html"
LISTING = "pack.json"
PAGE = "page"
SHEETS = "sheets"
SOUNDS = "sounds"
NOTES = "notes"


def stem_of(piece: Piece) -> str:
    """Return how the files of a piece begin: recording and row; a row's key that cannot be in a name as a digest."""
    key = piece.key
    if not is_slug(key):
        digest = hashlib.sha256(key.encode()).hexdigest()[:8]
        key = f"row-{digest}"
    return f"{piece.slug}-{key}"


def folder_of(title: str) -> str:
    """Return what a pack of that title is called on a disk."""
    found = slug_of(title)
    return found if found != "recording" else "pack"
