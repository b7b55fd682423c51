"""A recording, a table or a row as it was, brought back as a new revision; and two states of a recording compared."""

from __future__ import annotations

from dataclasses import dataclass

from annotate.archive import Archive
from annotate.errors import BadMoment
from annotate.history.changes import RowChange, between, edits
from annotate.history.ledger import Ledger
from annotate.history.points import Point, revision_at
from annotate.history.soundness import refuse_unsound
from annotate.marking import trial
from annotate.revisions import read
from annotate.state import replay
from annotate.store.folder import Folder


@dataclass(frozen=True)
class Comparison:
    """What is different between two revisions of a recording."""

    first: int
    second: int
    changes: tuple[RowChange, ...]


@dataclass(frozen=True)
class Plan:
    """What it takes for a recording, as of revision ``latest``, to be as it was at revision ``number``."""

    slug: str
    latest: int
    number: int
    point: Point
    changes: tuple[RowChange, ...]


def compare(archive: Archive, slug: str, first: Point, second: Point, *, table: str = "", key: str = "") -> Comparison:
    """Return what is different between two states of a recording, of a table or row of it where one is named.

    Raises
    ------
    BadMoment
        It has no such revision.
    """
    ledger = archive.ledger(slug)
    one, other = revision_at(ledger, first), revision_at(ledger, second)
    changes = between(ledger.state(one).rows, ledger.state(other).rows, table, key)
    return Comparison(one, other, tuple(changes))


def plan(archive: Archive, slug: str, point: Point, *, table: str = "", key: str = "") -> Plan:
    """Return what would change if a recording were as it was, or a table or row of it. Nothing is written.

    Raises
    ------
    BadMoment
        It was not in the archive yet, was withdrawn then, or has no such revision.
    BadAnnotation
        The rows do not fit among those that stay.
    """
    archive.state(slug)  # one that is withdrawn now has to be brought back first
    ledger = archive.ledger(slug)
    number = revision_at(ledger, point)
    if number == 0:
        raise BadMoment(_not_yet(ledger, point))
    present, then = ledger.state(ledger.latest), ledger.state(number)
    if then.withdrawn:
        raise BadMoment(
            f"'{slug}' was withdrawn then ({point.words}), so there is nothing to bring back from there. Name another "
            f"revision or day: layakosh history {slug}"
        )
    changes = tuple(between(present.rows, then.rows, table, key))
    if changes and (table or key):
        after = replay(present, [trial(present, edits(changes))])
        refuse_unsound(present, after, "Bring back the sections and the sams together, the whole recording.")
    return Plan(slug, ledger.latest, number, point, changes)


def plans_of_all(archive: Archive, point: Point, *, table: str = "") -> tuple[list[Plan], list[str]]:
    """Return a plan for every recording that would change, and the slugs of those not in the archive at that time.

    A recording that was not there yet stays as it is.
    """
    found, absent = [], []
    for slug, latest in archive.latest_revisions().items():
        if point.moment is not None and _written_by(archive, slug, latest, point):
            continue
        ledger = archive.ledger(slug)
        number = revision_at(ledger, point)
        if number == 0 or ledger.state(number, {("recordings", slug)}).withdrawn:
            absent.append(slug)
        elif (made := plan(archive, slug, point, table=table)).changes:
            found.append(made)
    return found, absent


def carry_out(archive: Archive, made: Plan, who: str) -> int:
    """Write a plan as one revision, and return its number (that of the latest revision where nothing changes).

    Raises
    ------
    ConflictingEdit
        Somebody has changed one of the rows since the plan was made. Nothing is written.
    """
    if not made.changes:
        return made.latest
    asked = f", {made.point.words}" if made.point.number is None else ""
    why = f"as of revision {made.number}{asked}"
    return archive.commit(made.slug, edits(made.changes), who, why, parent=made.latest)


def _written_by(archive: Archive, slug: str, latest: int, point: Point) -> bool:
    """Tell whether the latest revision was there by then; read from its own file, since most recordings' is."""
    return (
        point.moment is not None
        and read(Folder(archive.store, f"recordings/{slug}/revisions"), latest).when <= point.moment
    )


def _not_yet(ledger: Ledger, point: Point) -> str:
    first = ledger.heads[0]
    return (
        f"'{ledger.slug}' was not in the archive yet at {point.words}. It was taken in at "
        f"{Point(moment=first.when).words}, its revision 1."
    )
