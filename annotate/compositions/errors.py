"""Errors of compositions.

::

    annotate.errors.ArchiveError
    └── CompositionError
        ├── BadComposition        what cannot be kept or played; says what was expected
        │   └── DamagedComposition    a file that is none
        ├── NoSuchComposition     offers the nearest keys
        └── CompositionChanged    somebody changed it first; says who, when and why
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from annotate.errors import ArchiveError


class CompositionError(ArchiveError):
    """Root of the errors of this package."""


class BadComposition(CompositionError):
    """A composition that cannot be kept or played."""


class DamagedComposition(BadComposition):
    """A file that is no revision of a composition."""


class NoSuchComposition(CompositionError):
    """No composition goes by that key.

    Parameters
    ----------
    key : str
        What came.
    nearest : sequence of str
        The nearest keys in the archive, best first; may be empty.
    """

    def __init__(self, key: str, nearest: Sequence[str] = ()) -> None:
        hint = f"Did you mean {' or '.join(nearest)}?" if nearest else "'layakosh compositions' lists what is kept."
        super().__init__(f"No composition is kept as '{key[:80]}'. {hint}")


class CompositionChanged(CompositionError):
    """Somebody changed the composition after it was looked at."""

    def __init__(self, key: str, who: str, when: datetime, why: str) -> None:
        by = f" by {who}" if who else ""
        super().__init__(
            f"'{key}' was {why}{by} on {when:%Y-%m-%d at %H:%M} UTC, after you looked at it, so nothing was written. "
            "Open it again and change it there."
        )
