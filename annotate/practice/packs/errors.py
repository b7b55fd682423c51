"""Errors of packs, a branch of :mod:`annotate.practice.errors`.

::

    PracticeError
    └── PackError
        ├── BadLicence        a text that is no licence
        ├── NothingToPack     no piece was named, or nothing was to be made of them
        ├── PackPlaceTaken    something else is where the pack is to go
        └── CannotWritePack   the disk is full, or the place may not be written
"""

from __future__ import annotations

from pathlib import Path

from annotate.practice.errors import PracticeError


class PackError(PracticeError):
    """Root of the errors of packs. Nothing was written."""


class BadLicence(PackError):
    """A text that is empty, too long, or nearly the short name of a licence."""


class NothingToPack(PackError):
    """No piece was named."""


class PackPlaceTaken(PackError):
    """Something is where the pack is to go, and it is not to be replaced, or is no pack."""


class CannotWritePack(PackError):
    """The system refused something while a pack was written. Nothing of it is left.

    Parameters
    ----------
    place : Path
        Where it was to go.
    error : OSError
        What the system says.
    """

    def __init__(self, place: Path, error: OSError) -> None:
        super().__init__(
            f"The pack {place} was not written ({error.strerror or error}); nothing of it was left. Make room, or name "
            "another place with --to."
        )
