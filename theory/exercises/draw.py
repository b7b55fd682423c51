"""Chance that is the same on every machine for the same seed, so that a teacher can make the same sheet again.

Conventions: only :meth:`random.Random.random` is used, of which Python promises the same numbers from version to
version; what its other methods give may change.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import TypeVar

Item = TypeVar("Item")


class Draw:
    """Draws from a seed, which is any text."""

    def __init__(self, seed: str) -> None:
        self._random = random.Random(seed)

    def below(self, count: int) -> int:
        """Return a whole number from 0 up to, not with, ``count``."""
        return int(self._random.random() * count)

    def one(self, items: Sequence[Item]) -> Item:
        """Return one of several, each as likely as any."""
        return items[self.below(len(items))]

    def shuffled(self, items: Sequence[Item]) -> tuple[Item, ...]:
        """Return all of them in an order that chance gives."""
        left = list(items)
        return tuple(left.pop(self.below(len(left))) for _ in range(len(left)))
