"""The mends of ``layakosh check --repair``: what can be saved is saved, and nothing is deleted but strays."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path

from annotate import snapshots
from annotate.archive import Archive
from annotate.card import CARD, write_card
from annotate.check.findings import Finding, Job
from annotate.check.history import file_name, look
from annotate.check.replacing import plan
from annotate.check.saved_copies import Index, told_by_index
from annotate.check.whole import check_recording
from annotate.errors import ArchiveError, CannotWrite
from annotate.files import make_folders, sync_folder
from annotate.index import seen_in
from annotate.layout import SET_ASIDE, named
from annotate.removing import finish
from annotate.schema import INDEX_TABLES
from annotate.store.base import Store
from annotate.store.disk import DiskStore
from annotate.store.folder import Folder
from theory.errors import LayakoshError

PIECE = 4 << 20


@dataclass
class Repairs:
    """What a run of mends does to a store; ``done`` tells of it in words."""

    store: Store
    home: str = field(default_factory=lambda: f"{SET_ASIDE}/{datetime.now(UTC):%Y-%m-%dT%H%M%S}")
    done: list[str] = field(default_factory=list)

    @cached_property
    def index(self) -> Index:
        """What the index told before anything was mended."""
        return told_by_index(self.store)

    def set_aside(self, name: str) -> None:
        """Move a file out of the way; one that is gone already is no error."""
        to = f"{self.home}/{name}"
        try:
            if isinstance(self.store, DiskStore):
                make_folders(self.store.path(to).parent)
                self.store.path(name).rename(self.store.path(to))
                sync_folder(self.store.path(to).parent)
                sync_folder(self.store.path(name).parent)
            else:
                with self.store.open(name) as source, self.store.writing(to) as out:
                    shutil.copyfileobj(source, out, PIECE)
                self.store.delete(name)
        except FileNotFoundError:
            return
        self.done.append(f"{name}: moved to {to}")


def repair(store: Store, findings: Iterable[Finding], tell: Callable[[float], None] = lambda _share: None) -> list[str]:
    """Mend what can be mended, and return what was done, a sentence each.

    Parameters
    ----------
    store : Store
    findings : iterable of Finding
        As :func:`annotate.check.whole.check` gives them.
    tell : callable
        Told the share done, 0 to 1.

    Raises
    ------
    CannotWrite
        The disk is full, the archive read-only. What was mended so far stays mended.
    """
    repairs = Repairs(store)
    jobs = list(dict.fromkeys(finding.job for finding in findings if finding.job is not None))
    try:
        _mend_all(repairs, jobs, tell)
    except OSError as error:
        raise CannotWrite("A mend", error) from error
    return repairs.done


def _mend_all(repairs: Repairs, jobs: list[Job], tell: Callable[[float], None]) -> None:
    """First what people wrote, then what follows from it."""
    first = [job for job in jobs if job[0] in ("card", "history", "set aside", "sweep", "remove")]
    for number, job in enumerate(first):
        _MENDS[job[0]](repairs, job[1])
        tell((number + 1) / (len(jobs) + 1))
    mended = [slug for what, slug in first if what == "history"]
    later = [job for job in jobs if job[0] in ("derived", "index")]
    for slug in mended:
        again = [
            finding.job
            for finding in check_recording(repairs.store, slug, repairs.index).findings
            if finding.job is not None
        ]
        later.extend(job for job in again if job[0] == "derived")
    later.extend(("index", name) for name in _parts_with(repairs.store, set(mended)))
    for what, name in dict.fromkeys(later):
        _MENDS[what](repairs, name)
    _make_again(repairs, {named(name).slug for what, name in later if what == "derived"}, later)
    tell(1.0)


def _mend_card(repairs: Repairs, name: str) -> None:
    repairs.set_aside(name)
    write_card(repairs.store, "")
    repairs.done.append(f"{CARD}: written anew")


def _mend_history(repairs: Repairs, slug: str) -> None:
    store = repairs.store
    entries = store.walk(f"recordings/{slug}")
    history = look(store, slug, entries)
    replacements = plan(store, slug, history, entries, repairs.index)
    if history.newer or history.other_slug:
        return
    for each in (*history.bad, *history.odd):
        if each.number:
            repairs.set_aside(each.name)
    if replacements:
        store.announce(f"recordings/{slug}")
    for replacement in replacements:
        name = file_name(slug, replacement.number)
        with contextlib.suppress(FileExistsError):  # somebody has put it back meanwhile
            store.create_exclusively(name, replacement.content)
            repairs.done.append(f"{name}: filled; {replacement.words}")


def _mend_by_setting_aside(repairs: Repairs, name: str) -> None:
    if name.startswith("index/") and not name.endswith(".parquet"):
        for entry in repairs.store.files(name):
            repairs.set_aside(entry.name)
    else:
        repairs.set_aside(name)


def _sweep(repairs: Repairs, name: str) -> None:
    if not isinstance(repairs.store, DiskStore):
        return
    path: Path = repairs.store.path(name)
    if path.is_dir():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)
    repairs.done.append(f"{name}: removed, a leftover of a writer that was killed")


def _finish_removal(repairs: Repairs, slug: str) -> None:
    finish(repairs.store, slug)
    repairs.done.append(f"recordings/{slug}: removed for good, as was decided")


def _parts_with(store: Store, slugs: set[str]) -> list[str]:
    """Parts of the index that hold recordings whose history was mended: what they tell may not be so."""
    found = []
    for table in INDEX_TABLES if slugs else ():
        for entry in store.files(f"index/{table}"):
            if slugs & set(seen_in(store, table, entry.name, entry.stamp) or ()):
                found.append(entry.name)
    return found


def _make_again(repairs: Repairs, slugs: set[str], jobs: list[Job]) -> None:
    """Make snapshots, ledgers, grids and the index again, as far as the archive can be opened."""
    names = [name for what, name in jobs if what == "derived"]
    tables = sorted({name.split("/")[1] for what, name in jobs if what == "index"})
    with contextlib.suppress(ArchiveError):
        archive = Archive.open(repairs.store.place)
        for slug in sorted(slugs):
            with contextlib.suppress(LayakoshError):
                state = archive.state_or_withdrawn(slug)
                if any(named(name).slug == slug and named(name).kind == "snapshot" for name in names):
                    snapshots.write(Folder(repairs.store, f"recordings/{slug}"), state)
                if any(named(name).slug == slug and named(name).kind == "ledger" for name in names):
                    archive.ledger(slug)
                if not state.withdrawn:
                    archive.grid(slug)
        for table in tables:
            archive.index(table)
            repairs.done.append(f"index/{table}: made again")


_MENDS: dict[str, Callable[[Repairs, str], None]] = {
    "card": _mend_card,
    "history": _mend_history,
    "set aside": _mend_by_setting_aside,
    "derived": _mend_by_setting_aside,
    "index": _mend_by_setting_aside,
    "sweep": _sweep,
    "remove": _finish_removal,
}
