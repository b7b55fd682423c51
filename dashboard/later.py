"""Work that a page does not wait for: done aside once, kept until something it follows from changes.

Conventions: a piece of work is told by a key; equal keys give the same result. One thread works, so that many questions
at once do not slow down whoever plays or marks. What was asked last is kept, up to :data:`KEPT` results.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as StillWorking
from dataclasses import dataclass, field
from typing import Generic, TypeVar

KEPT = 96
SOON_S = 0.4
"""Whoever asks waits so long for what is nearly done."""

T = TypeVar("T")
Tell = Callable[[float], None]
"""Told the share done, 0 to 1."""


@dataclass
class _Work(Generic[T]):
    future: Future[T] = field(default_factory=Future)
    share: float = 0.0


@dataclass(frozen=True)
class Answer(Generic[T]):
    """What has become of a piece of work: its result once it is done; until then the share done, 0 to 1."""

    done: bool
    result: T | None
    share: float


class Later(Generic[T]):
    """Does work aside and keeps its results."""

    def __init__(self) -> None:
        self._works: OrderedDict[Hashable, _Work[T]] = OrderedDict()
        self._lock = threading.Lock()
        self._worker = ThreadPoolExecutor(1, "later")

    def ask(self, key: Hashable, make: Callable[[Tell], T]) -> Answer[T]:
        """Ask for a result; the work begins when it is first asked for.

        Parameters
        ----------
        key : hashable
        make : callable
            Does the work. What it raises is raised here, and the work is done anew when it is asked for again.
        """
        work = self._work(key, make)
        try:
            result = work.future.result(timeout=SOON_S)
        except StillWorking:
            if not work.future.done():
                return Answer(False, None, work.share)
            raise
        return Answer(True, result, 1.0)

    def _work(self, key: Hashable, make: Callable[[Tell], T]) -> _Work[T]:
        with self._lock:
            known = self._works.get(key)
            if known is not None and not (known.future.done() and known.future.exception() is not None):
                self._works.move_to_end(key)
                return known
            work: _Work[T] = _Work()

            def tell(share: float) -> None:
                work.share = share

            work.future = self._worker.submit(make, tell)
            self._works[key] = work
            while len(self._works) > KEPT:
                self._works.popitem(last=False)[1].future.cancel()
            return work
