"""Slugs: the short ASCII name of a recording, which is also the name of its folder.

A slug is made of a-z, 0-9 and hyphens, so it cannot leave the archive and reads the same in a shell, a path and a
page's address.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable

LONGEST = 60
_SLUG = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,78}[a-z0-9])?")


def is_slug(text: str) -> bool:
    """Tell whether a text can be a slug."""
    return _SLUG.fullmatch(text) is not None


def slug_of(title: str) -> str:
    """Return the slug that a title suggests: ``"Rāga Deś, drut gat"`` becomes ``"raga-des-drut-gat"``.

    A title with no Latin letter or digit becomes ``"recording"``.
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", plain.replace("'", ""))
    slug = ""
    for word in words:
        longer = f"{slug}-{word}" if slug else word[:LONGEST]
        if len(longer) > LONGEST:
            break
        slug = longer
    return slug or "recording"


def unique_slug(title: str, taken: Callable[[str], bool]) -> str:
    """Return the title's slug, with ``-2``, ``-3`` ... when it is taken."""
    slug = slug_of(title)
    candidate, number = slug, 2
    while taken(candidate):
        candidate, number = f"{slug}-{number}", number + 1
    return candidate
