"""Several recordings taken in, one after the other or side by side; one that fails does not stop the others."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any

from annotate.archive import Archive
from annotate.beside import Beside
from annotate.errors import AlreadyTakenIn, ArchiveError
from annotate.intake import take_in
from annotate.intake_source import ROLES, Source, look_at
from annotate.intake_stages import Step
from ingest.listen import Sound
from theory.errors import LayakoshError


@dataclass(frozen=True)
class Order:
    """A recording to be taken in: its files, and the keyword arguments of :func:`annotate.intake.take_in`."""

    source: Source
    how: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Outcome:
    """What became of an order: the recording's slug, or what was wrong."""

    order: Order
    slug: str = ""
    error: str = ""


@dataclass(frozen=True)
class SentSound:
    """A file that somebody sent: where it lies, what it was called, and what it holds (a role of a source)."""

    path: str
    name: str
    role: str = "whole"


@dataclass(frozen=True)
class Came:
    """The recording that a sent one became; or that held the same sound already, and then ``known`` says so.

    ``slug`` is empty where that one is withdrawn.
    """

    slug: str
    known: str = ""


def take_in_each(
    archive: Archive,
    orders: Sequence[Order],
    workers: int = 1,
    tell: Callable[[int, Step], None] | None = None,
    ended: Callable[[int, Outcome], None] | None = None,
) -> list[Outcome]:
    """Take several recordings in.

    Parameters
    ----------
    archive : Archive
    orders : sequence of Order
    workers : int
        How many are worked on at once; with more than one, each in a process of its own.
    tell : callable, optional
        Told how far each is, with its number in ``orders``.
    ended : callable, optional
        Told what became of each as soon as it has ended.

    Returns
    -------
    list of Outcome
        In the order given.
    """
    outcomes: dict[int, Outcome] = {}

    def settle(number: int, work: Callable[[], str]) -> None:
        try:
            outcome = Outcome(orders[number], slug=work())
        except (LayakoshError, OSError) as error:
            outcome = Outcome(orders[number], error=told_of(error))
        outcomes[number] = outcome
        if ended is not None:
            ended(number, outcome)

    def stepped(number: int) -> Callable[[Step], None]:
        return lambda step: tell(number, step) if tell is not None else None

    if workers == 1 or len(orders) == 1:
        for number, order in enumerate(orders):
            settle(number, lambda: take_in(archive, order.source, tell=stepped(number), **order.how))  # noqa: B023
        return [outcomes[number] for number in range(len(orders))]

    waiting, running = list(range(len(orders))), dict[int, Beside]()
    try:
        while waiting or running:
            while waiting and len(running) < workers:
                number = waiting.pop(0)
                running[number] = Beside(_take_in, archive.store.place, orders[number])
            wait([each.pipe for each in running.values()], timeout=1.0)
            for number, each in list(running.items()):
                for step in each.heard():
                    stepped(number)(step)
                if each.ended:
                    settle(number, each.result)
                    running.pop(number).stop()
    finally:
        for each in running.values():
            each.stop()
    return [outcomes[number] for number in range(len(orders))]


def told_of(error: LayakoshError | OSError) -> str:
    """Return an error in words that say what to do."""
    if isinstance(error, OSError):
        where = f" ({error.filename})" if error.filename else ""
        return (
            f"{error.strerror or error}{where}. Nothing of it is in the archive; what was done so far is kept: "
            "make room or put right what is wrong, and run it again."
        )
    return str(error)


def _take_in(archive: str, order: Order, tell: Callable[[Step], None]) -> str:
    """One order, in a process of its own; nothing runs beside it there, since the others do."""
    return take_in(Archive.open(archive), order.source, **{"beside": False, **order.how}, tell=tell)


def take_in_sent(
    archive: str, files: Sequence[SentSound], how: Mapping[str, Any], tell: Callable[[Step], None]
) -> Came:
    """Take a recording in whose files lie elsewhere than under their names; to be run in a process of its own.

    Parameters
    ----------
    archive : str
        Where the archive is.
    files : sequence of SentSound
    how : mapping
        Keyword arguments of :func:`annotate.intake.take_in`.
    tell : callable
        Told how far it is.

    Raises
    ------
    ArchiveError
        It cannot be taken in; the message calls the files by their names.
    """
    ordered = [file for role in ROLES for file in files if file.role == role]
    by_role = {role: tuple(Path(file.path) for file in ordered if file.role == role) for role in ROLES}
    try:
        source = look_at(Sound(**by_role))
        named = tuple(replace(told, name=file.name) for told, file in zip(source.files, ordered, strict=True))
        return Came(take_in(Archive.open(archive), replace(source, files=named), tell=tell, beside=False, **how))
    except AlreadyTakenIn as there:
        return Came("" if there.withdrawn else there.slug, str(there))
    except LayakoshError as error:
        raise ArchiveError(_by_name(str(error), files)) from error


def _by_name(message: str, files: Sequence[SentSound]) -> str:
    """Return a message with the files' names in place of where they lie."""
    for file in files:
        message = message.replace(file.path, file.name)
    return message
