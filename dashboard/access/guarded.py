"""The archive as the pages get it: a reader's edits are refused, and every edit is signed by who is at hand.

Every edit of an archive goes through :meth:`annotate.archive.Archive.commit`, and every composition that is kept asks
for a :meth:`~annotate.archive.Archive.signature`, whatever page or route it comes from; this is the one place where it
is decided whether it may.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from annotate.archive import Archive
from annotate.layout import named
from annotate.revisions import Edit
from annotate.store.base import Store
from dashboard.access.at_hand import Person, at_hand
from dashboard.errors import MayNotEdit


class GuardedArchive(Archive):
    """An archive that asks who is at hand before it writes.

    Parameters
    ----------
    store : Store
    login_needed : callable
        Tells whether people have to log in. Where they have, an edit by nobody is refused too.
    """

    def __init__(self, store: Store, login_needed: Callable[[], bool] = lambda: False) -> None:
        super().__init__(store)
        self._login_needed = login_needed

    def commit(
        self, slug: str, edits: Sequence[Edit], who: str, why: str, parent: int | None = None, *, undoes: int = 0
    ) -> int:
        """Write edits as :meth:`annotate.archive.Archive.commit` does, signed by who is at hand.

        ``who`` counts where nobody has to log in. Elsewhere the name of the person takes its place, in the revision
        and in the rows that say ``who`` wrote them down now.

        Raises
        ------
        MayNotEdit
            Who is at hand is a reader, or nobody. Nothing is written.
        """
        signature = self.signature(who)
        if signature != who and not undoes:  # rows that an undo puts back keep the name of who wrote them down
            edits = [_signed(edit, who, signature) for edit in edits]
        return super().commit(slug, edits, signature, why, parent, undoes=undoes)

    def signature(self, who: str) -> str:
        """Return the name of the person at hand, or ``who`` where nobody has to log in.

        Raises
        ------
        MayNotEdit
            Who is at hand is a reader, or nobody.
        """
        person = at_hand()
        refuse_reader(person)
        if not self._login_needed():
            return who
        if not person.name:
            raise MayNotEdit("Nobody is logged in, so nothing was written. Log in and save again.")
        return person.name

    def sound_path(self, slug: str) -> Path | None:
        """Return the path of the listening copy; nothing else of the archive, whatever a recording's row names."""
        told = named(self.state(slug).recording.audio_path)
        return super().sound_path(slug) if told.kind == "sound" else None


def refuse_reader(person: Person) -> None:
    """Refuse who may not edit.

    Raises
    ------
    MayNotEdit
        With what to do.
    """
    if not person.may_edit:
        name = f"{person.name}, you are" if person.name else "You are"
        raise MayNotEdit(
            f"{name} logged in to look and listen, so nothing was written. "
            "Whoever keeps this archive can let you edit it."
        )


def _signed(edit: Edit, who: str, signature: str) -> Edit:
    record: Any = edit.record
    if record is None or not hasattr(record, "who") or record.who != who:
        return edit
    return replace(edit, record=replace(record, who=signature))
