"""Work for a pack spread over processes beside this one: each works through its share and tells what it has done.

A share is every n-th job, so that long and short ones mix. The processes end with this one, see
:mod:`annotate.beside`; where one fails the others are stopped.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from multiprocessing.connection import wait
from typing import Any, TypeVar

from annotate.beside import Beside

Job = TypeVar("Job")
Numbered = tuple[int, Any]


def each_done(work: Callable[[Job], Any], jobs: Sequence[Job], workers: int) -> Iterator[Numbered]:
    """Do every job; yield its number and what came of it as soon as it is done.

    Parameters
    ----------
    work : callable
        Of a module; what it takes and gives goes through a pipe, by pickle.
    jobs : sequence
    workers : int
        How many processes; with 1 it is done here.

    Raises
    ------
    annotate.errors.ArchiveError, OSError, annotate.errors.BrokenOff
        As a job failed; see :meth:`annotate.beside.Beside.result`.
    """
    if workers == 1 or len(jobs) < 2:
        yield from ((number, work(job)) for number, job in enumerate(jobs))
        return
    numbered = list(enumerate(jobs))
    running: list[Beside] = []
    try:
        for share in range(min(workers, len(jobs))):
            running.append(Beside(_through, work, numbered[share::workers]))
        while running:
            wait([each.pipe for each in running], timeout=1.0)
            for each in tuple(running):
                yield from each.heard()
                if each.ended:
                    each.result()
                    each.stop()
                    running.remove(each)
    finally:
        for each in running:
            each.stop()


def _through(work: Callable[[Any], Any], numbered: list[tuple[int, Any]], tell: Callable[[Numbered], None]) -> None:
    """Work through a share, in a process of its own."""
    for number, job in numbered:
        tell((number, work(job)))
