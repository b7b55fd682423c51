"""Functions that numba compiles when they are first called, so that whoever never calls them need not load numba.

What was compiled is kept beside the source or in the user's own cache folder; where neither can be written it is
compiled anew in every process.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import update_wrapper
from typing import Any


class Compiled:
    """A function compiled at its first call; it may call no other function of this kind.

    Parameters
    ----------
    function : callable
    options
        Those of ``numba.njit``.
    """

    def __init__(self, function: Callable[..., Any], **options: bool) -> None:
        update_wrapper(self, function)
        self._function, self._options = function, options
        self._ready: Callable[..., Any] | None = None

    def __call__(self, *values: Any) -> Any:
        """What the function gives, compiled first if it is not yet."""
        if self._ready is None:
            self._ready = self._compile()
        return self._ready(*values)

    def _compile(self) -> Callable[..., Any]:
        import numba

        try:
            ready: Callable[..., Any] = numba.njit(cache=True, nogil=True, **self._options)(self._function)
        except RuntimeError:  # no place to keep it
            ready = numba.njit(nogil=True, **self._options)(self._function)
        return ready


def compiled(**options: bool) -> Callable[[Callable[..., Any]], Compiled]:
    """Have a function compiled at its first call, with options of ``numba.njit``."""
    return lambda function: Compiled(function, **options)
