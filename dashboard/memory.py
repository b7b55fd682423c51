"""Giving memory back: a server of many threads that reads large tables now and then keeps most of it otherwise.

Measured with an hour's concert opened, its grid fitted again and its click laid out: 324 MB resident instead of 490.
Five people at once in an archive of 500, through all pages: at most 463 MB instead of 561 when it is done before the
first table is read.
"""

from __future__ import annotations

import ctypes
import os

_TRIM_THRESHOLD, _MMAP_THRESHOLD, _ARENA_MAX = -1, -3, -8  # malloc.h of the GNU C library
_GIVEN_BACK_FROM = 128 * 1024  # bytes; said explicitly it stays so, else it grows with what was freed last


def spare_memory() -> None:
    """Let what is freed go back to the system; to be called before tables are read and threads are started.

    Tables are read into the C library's memory instead of a pool of their own: arrow's own code asks the environment
    for its pool, once, and Python's side is told beside it. Where the C library is not GNU's, only that is done.
    """
    os.environ.setdefault("ARROW_DEFAULT_MEMORY_POOL", "system")
    import pyarrow as pa

    pa.set_memory_pool(pa.system_memory_pool())
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):
        return
    mallopt(_ARENA_MAX, 2)
    mallopt(_TRIM_THRESHOLD, _GIVEN_BACK_FROM)
    mallopt(_MMAP_THRESHOLD, _GIVEN_BACK_FROM)
