"""Errors of backups.

::

    annotate.errors.ArchiveError
    ├── BadBackup       no backup, or one that is cut short or altered
    └── PlaceTaken      something is there already where a backup or an archive would be written
"""

from __future__ import annotations

from annotate.errors import ArchiveError


class BadBackup(ArchiveError):
    """A file that is no backup, or is not what was written: cut short, altered, made to do harm. Nothing was put back.

    Parameters
    ----------
    file : str
        Its name.
    why : str
        What was expected and what came.
    """

    def __init__(self, file: str, why: str) -> None:
        self.file, self.why = file, why
        super().__init__(
            f"{file} cannot be used as a backup: {why}. Nothing of it was put in place; take another copy."
        )


class PlaceTaken(ArchiveError):
    """Something is there already; it was left as it was."""
