"""Long arrays in files without a name instead of in memory: what ten hours leave behind need not be there all at once.

A file of this kind is made in the system's folder for temporary files, is gone when its last user is, and is mapped:
what is read of it comes in by itself, and :func:`let_go` gives it back.
"""

from __future__ import annotations

import mmap
import tempfile
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

Array = NDArray[Any]


class Spool:
    """Rows that come block by block.

    Parameters
    ----------
    dtype : data type
        What the rows are kept as.
    width : int, optional
        Values in a row; None where the rows are single values.
    """

    def __init__(self, dtype: DTypeLike = np.float32, width: int | None = None) -> None:
        self._dtype, self._row = np.dtype(dtype), () if width is None else (width,)
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed when it is joined or given up
        self._rows = 0

    def append(self, rows: Array) -> None:
        """Take in rows, shape (n,) or (n, width)."""
        if rows.shape[1:] != self._row:
            raise ValueError(f"Rows of shape {self._row} were expected; {rows.shape[1:]} came.")
        self._file.write(np.ascontiguousarray(rows, dtype=self._dtype).data)
        self._rows += len(rows)

    def joined(self) -> Array:
        """Return all rows as one array, mapped from the file; nothing can be taken in after that."""
        shape = (self._rows, *self._row)
        with self._file:  # the mapping keeps what is in it
            self._file.flush()
            return mapped(self._file, self._dtype, shape) if self._rows else np.zeros(shape, self._dtype)

    def __del__(self) -> None:
        self._file.close()


def room_for(shape: tuple[int, ...], dtype: DTypeLike, in_memory_bytes: int) -> Array:
    """Return an array to be filled: in memory up to a size, mapped from a file above it."""
    size = int(np.prod(shape)) * np.dtype(dtype).itemsize
    if size <= in_memory_bytes:
        return np.empty(shape, dtype)
    with tempfile.TemporaryFile() as file:
        file.truncate(size)
        return mapped(file, dtype, shape)


def mapped(file: Any, dtype: DTypeLike, shape: tuple[int, ...]) -> Array:
    """Map a file as an array."""
    return np.memmap(file, dtype, "r+", shape=shape).view(np.ndarray)


def let_go(*arrays: Array) -> None:
    """Give back the memory of mapped arrays, of which nothing is lost: it is read again where it is asked for again.

    Arrays in memory stay as they are, and so does everything where a system cannot do it.
    """
    if not hasattr(mmap, "MADV_DONTNEED"):
        return
    for array in arrays:
        below: Any = array
        while below is not None and not isinstance(below, np.memmap):
            below = getattr(below, "base", None)
        mapping = getattr(below, "_mmap", None)
        if mapping is not None:
            mapping.madvise(mmap.MADV_DONTNEED)
