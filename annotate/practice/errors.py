"""Errors of practice material, a branch of :mod:`annotate.errors`.

::

    ArchiveError
    └── PracticeError
        ├── BadPiece          a name that is no piece, or a row of which nothing can be practised
        ├── CannotPrint       a sheet cannot be made as asked
        └── CannotSound       a practice sound cannot be made as asked
"""

from __future__ import annotations

from annotate.errors import ArchiveError


class PracticeError(ArchiveError):
    """Root of the errors of this package."""


class BadPiece(PracticeError):
    """A text that names no piece, or a row of which too little is written down to practise it."""


class CannotPrint(PracticeError):
    """A sheet cannot be made as asked: nothing to print, or something is missing on this machine."""


class CannotSound(PracticeError):
    """A practice sound cannot be made as asked. No file was made or changed."""
