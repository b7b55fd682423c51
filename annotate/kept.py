"""What an archive object remembers: of the recordings used last, so that memory does not grow with the archive."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import Generic, TypeVar

MOST = 256
"""Recordings remembered: their states and grids are some 50 MB."""

_Value = TypeVar("_Value")


class Kept(Generic[_Value]):
    """Values by key, the least recently used of more than ``most`` forgotten; for several threads."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._values: OrderedDict[str, _Value] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: str) -> _Value | None:
        """Return a value, or None where there is none any more."""
        with self._lock:
            value = self._values.get(key)
            if value is not None:
                self._values.move_to_end(key)
            return value

    def keep(self, key: str, value: _Value) -> None:
        """Remember a value."""
        with self._lock:
            self._values[key] = value
            self._values.move_to_end(key)
            if len(self._values) > self._most:
                self._values.popitem(last=False)
