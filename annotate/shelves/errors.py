"""Errors of things that are kept by name.

::

    annotate.errors.ArchiveError
    └── ShelfError
        ├── BadThing          what cannot be kept; says what was expected
        │   └── DamagedThing  a file that is no revision of it
        ├── NoSuchThing       offers the nearest keys
        └── ThingChanged      somebody changed it first; says who, when and why
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from annotate.errors import ArchiveError


class ShelfError(ArchiveError):
    """Root of the errors of this package."""


class BadThing(ShelfError):
    """What cannot be kept."""


class DamagedThing(BadThing):
    """A file that is no revision of what is kept there."""


class NoSuchThing(ShelfError):
    """Nothing of its sort goes by that key.

    Parameters
    ----------
    word : str
        What it would be: "composition".
    key : str
        What came.
    lists : str
        The command that lists what is kept.
    nearest : sequence of str
        The nearest keys in the archive, best first; may be empty.
    """

    def __init__(self, word: str, key: str, lists: str, nearest: Sequence[str] = ()) -> None:
        self.nearest = tuple(nearest)
        hint = f"Did you mean {' or '.join(nearest)}?" if nearest else f"'{lists}' lists what is kept."
        super().__init__(f"No {word} is kept as '{key[:80]}'. {hint}")


class ThingChanged(ShelfError):
    """Somebody changed it after it was looked at."""

    def __init__(self, key: str, who: str, when: datetime, why: str) -> None:
        by = f" by {who}" if who else ""
        super().__init__(
            f"'{key}' was {why}{by} on {when:%Y-%m-%d at %H:%M} UTC, after you looked at it, so nothing was written. "
            "Open it again and change it there."
        )
