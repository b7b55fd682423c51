"""Errors of the archive and of annotations, each one or two lines that say what to do.

::

    LayakoshError
    └── ArchiveError
        ├── NotAnArchive          the folder is missing, or is something else
        ├── NewerArchive          written by a newer version of this program
        ├── BadCard               a line of archive.toml that says what cannot be
        ├── OnlyOnDisk            asked of an archive in an object store
        ├── BadName               a name that would leave the archive
        ├── OutOfReach            an object store that does not answer, or refuses (also an OSError)
        ├── CannotWrite           the disk is full, the folder read-only, the store out of reach
        ├── NoSuchRecording       offers the nearest slugs
        │   └── WithdrawnRecording  one that was withdrawn, and can be brought back
        ├── NotWithdrawn          brought back or removed for good without having been withdrawn
        ├── NoSuchRow             a section, sam, tihai or phrase that the recording does not have
        │   └── NoSuchTihai
        ├── AlreadyTakenIn        the same sound is in the archive under another slug
        ├── BeingTakenIn          another process is taking the same sound in
        ├── NoSound               nothing to listen to again, or files that are not a recording's own
        ├── BadOrder              files that cannot be taken in together as asked
        ├── BrokenOff             a process that worked on it ended without an answer
        ├── ClusterOutOfReach     no scheduler of a cluster answers
        ├── ConflictingEdit       somebody changed the same row first; shows both versions
        │   ├── BothChanged       the same, with the row as it was before either
        │   └── CannotTakeBack    the same of undo and redo
        ├── NothingToTakeBack     nothing is left to undo or redo
        ├── BadMoment             a day or a revision that cannot be read, or that the recording does not have
        ├── DamagedRevision       a revision file that cannot be read
        ├── BadAnnotation         an annotation that cannot be true of the recording
        │   └── BadMarks          sam marks out of order, outside the recording, in no section with a tala
        ├── BadPattern            a search that cannot be read; shows the place with a caret
        └── BadTable              a CSV file; names file, row and column
"""

from __future__ import annotations

import errno
import shlex
from collections.abc import Sequence
from typing import Any

from annotate.history.words import beside, field_word, row_word
from annotate.records import Record
from theory.errors import LayakoshError

_ADVICE = {
    errno.ENOSPC: "The disk is full: make room, then do it again.",
    errno.EDQUOT: "The disk quota is used up: make room, then do it again.",
    errno.EFBIG: "The file would be larger than the system allows.",
    errno.EACCES: "The archive cannot be written by you: ask who may, or copy it to a folder of your own.",
    errno.EPERM: "The archive cannot be written by you: ask who may, or copy it to a folder of your own.",
    errno.EROFS: "The disk is read-only: copy the archive to one that is not.",
}


def advice(error: OSError) -> str:
    """Return what to do when the system refuses to write."""
    return _ADVICE.get(error.errno or 0, "See to that, then do it again.")


class ArchiveError(LayakoshError):
    """Root of the errors of this package."""


class NotAnArchive(ArchiveError):
    """The folder given is not an archive. It is left exactly as it was."""


class NewerArchive(ArchiveError):
    """The archive was written by a newer version of this program."""


class BadCard(ArchiveError):
    """A line of the archive's card, ``archive.toml``, says what cannot be."""


class OnlyOnDisk(ArchiveError):
    """Something that needs a folder on a disk was asked of an archive in an object store."""


class BadName(ArchiveError):
    """A name that would leave the archive, or cannot be a file's."""


class OutOfReach(ArchiveError, OSError):
    """An object store does not answer, or refuses what was asked of it.

    Attributes
    ----------
    unsure : bool
        Whether something may have been written all the same: the answer was lost on the way.
    """

    unsure = False


class CannotWrite(ArchiveError):
    """Something could not be written: the disk is full, the folder is read-only, the store cannot be reached.

    Parameters
    ----------
    what : str
        What was to be written, as the message begins: ``"The edit of 'evening'"``.
    error : OSError
        What the system says.
    """

    def __init__(self, what: str, error: OSError) -> None:
        if isinstance(error, OutOfReach):
            done = "It may have been written all the same: look first." if error.unsure else "Nothing was changed."
            super().__init__(f"{what} was not acknowledged. {error} {done}")
            return
        super().__init__(f"{what} was not written ({error.strerror or error}); nothing was changed. {advice(error)}")


class NoSuchRecording(ArchiveError):
    """No recording goes by that slug.

    Parameters
    ----------
    slug : str
        What came.
    nearest : sequence of str
        The nearest slugs in the archive, best first; may be empty.
    """

    def __init__(self, slug: str, nearest: Sequence[str] = ()) -> None:
        self.slug, self.nearest = slug, tuple(nearest)
        hint = (
            f"Did you mean {' or '.join(nearest)}?" if nearest else "'layakosh concerts' lists what the archive holds."
        )
        super().__init__(f"The archive has no recording '{slug}'. {hint}")


class WithdrawnRecording(NoSuchRecording):
    """The recording was withdrawn. It is all there, and nobody sees it until it is brought back.

    Parameters
    ----------
    slug : str
    who, when : str
        Who withdrew it, and when, in words; ``who`` may be empty.
    """

    def __init__(self, slug: str, who: str, when: str) -> None:
        super().__init__(slug)
        self.who, self.when = who, when
        by = f" by {who}" if who else ""
        self.args = (
            f"'{slug}' was withdrawn{by} ({when}). Nothing of it is lost; to have it back: layakosh bring-back {slug}",
        )


class NotWithdrawn(ArchiveError):
    """A recording is to be brought back, or removed for good, that is not withdrawn."""


class NoSuchRow(ArchiveError):
    """A row that the recording does not have.

    Parameters
    ----------
    what : str
        What it is in words: ``"tihai"``, ``"section"``.
    key, slug : str
        Its key, and the recording.
    present : sequence of str
        The keys that exist.
    """

    def __init__(self, what: str, key: str, slug: str, present: Sequence[str] = ()) -> None:
        self.what, self.key, self.slug, self.present = what, key, slug, tuple(present)
        shown = ", ".join(self.present[:8]) + (" ..." if len(self.present) > 8 else "")
        hint = f"It has {shown}." if self.present else f"It has no {what} yet."
        super().__init__(f"'{slug}' has no {what} '{key}'. {hint}")


class NoSuchTihai(NoSuchRow):
    """A tihai that the recording does not have."""

    def __init__(self, key: str, slug: str, present: Sequence[str] = ()) -> None:
        super().__init__("tihai", key, slug, present)


class AlreadyTakenIn(ArchiveError):
    """The same sound is already in the archive.

    Parameters
    ----------
    file, slug : str
        What came, and the recording that holds the same sound.
    one_of_several : bool
        Whether the recording was made of several files, this being one of them.
    withdrawn : str
        Who withdrew that recording, and when, in words; empty where it is not withdrawn.
    """

    def __init__(self, file: str, slug: str, *, one_of_several: bool = False, withdrawn: str = "") -> None:
        self.file, self.slug, self.withdrawn = file, slug, withdrawn
        where = f"as part of '{slug}'" if one_of_several else f"as '{slug}'"
        same = "(the same sound, byte for byte)"
        said = f"{file} is already in the archive {where} {same}. Nothing was taken in."
        if withdrawn:
            said = (
                f"{file} is in the archive {where} {same}, which was withdrawn {withdrawn}. Nothing was taken in. "
                f"To have it back with its annotations: layakosh bring-back {slug}, or Withdrawn on the page Concerts."
            )
        super().__init__(said)


class BeingTakenIn(ArchiveError):
    """Another process is taking the same sound in at this moment."""

    def __init__(self, file: str) -> None:
        self.file = file
        super().__init__(
            f"{file} is being taken in by another process at this moment. Let that one finish; if it is stopped, "
            "run this again and it goes on from there."
        )


class NoSound(ArchiveError):
    """There is nothing to listen to again, or the files given are not those of the recording."""


class BadOrder(ArchiveError):
    """Files that cannot be taken in together as asked: the same sound twice, a folder among files to be joined."""


class BrokenOff(ArchiveError):
    """A process that worked on a recording ended without an answer, or with an error that is no fault of the input."""


class ClusterOutOfReach(ArchiveError):
    """The scheduler of a cluster does not answer, or what is needed to speak with it is not installed."""


class ConflictingEdit(ArchiveError):
    """Somebody else changed the same row first. Nothing was written.

    Attributes
    ----------
    slug, table, key : str
        The row.
    theirs, mine : Record or None
        The row as it stands now and as this edit would have it; None where it is withdrawn.
    their_revision : int
        The revision that changed it.
    """

    def __init__(
        self,
        slug: str,
        table: str,
        key: str,
        *,
        theirs: Record | None,
        mine: Record | None,
        who: str,
        when: str,
        their_revision: int,
    ) -> None:
        self.slug, self.table, self.key = slug, table, key
        self.theirs, self.mine, self.their_revision = theirs, mine, their_revision
        self.who, self.when = who or "Somebody", when
        super().__init__(self._message())

    def _message(self) -> str:
        return (
            f"{self.who} changed {row_word(self.table, self.key)} of '{self.slug}' first (revision "
            f"{self.their_revision}, {self.when}); yours was not written.\n"
            f"{beside({'theirs': self.theirs, 'yours': self.mine})}\n"
            "Look at both, then make your edit again on the present version."
        )


class BothChanged(ConflictingEdit):
    """Somebody else changed the same thing of a row that was looked at earlier, or withdrew it. Nothing was written.

    ``was`` is the row as of revision ``seen``, on which the edit stands; ``clashing`` names the fields of both.
    """

    def __init__(
        self, slug: str, table: str, key: str, *, was: Record, seen: int, clashing: Sequence[str], **more: Any
    ) -> None:
        self.was, self.seen, self.clashing = was, seen, tuple(clashing)
        super().__init__(slug, table, key, **more)

    def _message(self) -> str:
        both = f"\nBoth changed: {', '.join(map(field_word, self.clashing))}." if self.clashing else ""
        return (
            f"{self.who} has changed {row_word(self.table, self.key)} of '{self.slug}' since revision {self.seen}, on "
            f"which yours stands (revision {self.their_revision}, {self.when}). Yours was not written.\n"
            f"{beside({'was': self.was, 'theirs': self.theirs, 'yours': self.mine})}{both}"
        )


class CannotTakeBack(ConflictingEdit):
    """A revision cannot be taken back: somebody has changed one of its rows since. Nothing was written.

    ``theirs`` is the row as it stands now, ``mine`` as it would have become, ``number`` the revision.
    """

    def __init__(self, number: int, slug: str, table: str, key: str, **more: Any) -> None:
        self.number = number
        super().__init__(slug, table, key, **more)

    def _message(self) -> str:
        row = row_word(self.table, self.key)
        again = shlex.join(["layakosh", "as-of", str(self.number - 1), self.slug, "--row", self.key])
        return (
            f"Revision {self.number} of '{self.slug}' cannot be taken back: {self.who} has changed {row} since "
            f"(revision {self.their_revision}, {self.when}). Nothing was written.\n"
            f"{beside({'as it is now': self.theirs, 'as it would be': self.mine})}\n"
            f"Take theirs back first (--revision {self.their_revision}), or bring back the row as it was: {again}"
        )


class NothingToTakeBack(ArchiveError):
    """Nothing is left to undo or to redo."""


class BadMoment(ArchiveError):
    """A day or a revision that cannot be read, or that the recording does not have."""


class DamagedRevision(ArchiveError):
    """A revision file that cannot be read, or one that is missing from the row of numbers."""


class BadAnnotation(ArchiveError):
    """An annotation that cannot be true: a landing before the third palla, an end before its start."""


class BadMarks(BadAnnotation):
    """Sam marks that are out of order, outside the recording, or in no section with a tala."""


class BadPattern(ArchiveError):
    """A search that cannot be read.

    Parameters
    ----------
    text : str
        What came.
    column : int
        Where in it, counted from 0.
    why : str
        What was expected.
    """

    def __init__(self, text: str, column: int, why: str) -> None:
        self.text, self.column, self.why = text, column, why
        shown = text.replace("\n", " ").replace("\t", " ")
        super().__init__(f"{why}\n  {shown}\n  {' ' * column}^")


class BadTable(ArchiveError):
    """A CSV file with a column missing or a cell that cannot be read. Nothing of it was taken.

    Parameters
    ----------
    file : str
        The file's name.
    row : int or None
        The line as a spreadsheet counts (the header is row 1); None when the whole file is meant.
    column : str or None
        The column's name.
    why : str
        What was expected and what came.
    """

    def __init__(self, file: str, row: int | None, column: str | None, why: str) -> None:
        self.file, self.row, self.column, self.why = file, row, column, why
        place = file + (f", row {row}" if row is not None else "") + (f", column {column}" if column else "")
        super().__init__(f"{place}: {why}")
