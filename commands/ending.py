"""What a command does that is asked to end while it works."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def cleared_when_ended() -> Iterator[None]:
    """Let a polite request to end (SIGTERM) unwind what was begun, as Ctrl-C does, so that nothing is left behind."""
    before = signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
