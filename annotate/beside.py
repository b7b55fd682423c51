"""A function at work in a process of its own, that tells how far it is and ends with its parent.

The function is called as ``function(*arguments, tell)``; what it tells with ``tell(value)``, what it returns and how it
fails come back through a pipe. The process is started afresh (spawn), so that no lock, thread or open file of the
parent's is in it; it does not see the terminal's Ctrl-C (its parent does, and stops it), and when its parent is killed
it ends at once, so that it never writes where somebody else has gone on.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from typing import Any

from annotate.errors import ArchiveError, BrokenOff
from theory.errors import LayakoshError

STOP_S = 2.0
"""How long a process may take to end when it is asked to, before it is made to."""


class Beside:
    """A function that runs beside this process.

    Parameters
    ----------
    function : callable
        Of a module, called with ``arguments`` and a function that takes what it has to tell.
    *arguments
        Handed over by pickle.
    """

    def __init__(self, function: Callable[..., Any], *arguments: Any) -> None:
        spawn = multiprocessing.get_context("spawn")
        self.pipe, theirs = spawn.Pipe(duplex=False)
        self._process = spawn.Process(target=_work, args=(theirs, function, arguments), daemon=True)
        self._answer: tuple[str, Any] | None = None
        with _interrupts_held():
            self._process.start()
        theirs.close()

    @property
    def ended(self) -> bool:
        """Whether the function has returned or failed, as far as was heard of it."""
        return self._answer is not None

    def heard(self, wait_s: float = 0.0) -> list[Any]:
        """Return what it has told since the last call; wait so long for the first of it."""
        told = []
        while self._answer is None and self.pipe.poll(wait_s):
            wait_s = 0.0
            try:
                kind, value = self.pipe.recv()
            except (EOFError, OSError):
                self._process.join()
                kind, value = "broke", f"its process ended with code {self._process.exitcode}"
            if kind == "told":
                told.append(value)
            else:
                self._answer = kind, value
        return told

    def result(self, tell: Callable[[Any], None] | None = None) -> Any:
        """Wait for what the function returns, handing on what it tells meanwhile.

        Raises
        ------
        ArchiveError
            The function raised a LayakoshError; the message is the same.
        OSError
            The system refused it something (a full disk); number, message and file are the same.
        BrokenOff
            It failed otherwise, or its process was killed.
        """
        while self._answer is None:
            for value in self.heard(wait_s=1.0):
                if tell is not None:
                    tell(value)
        self._process.join()
        kind, value = self._answer
        if kind == "refused":
            raise ArchiveError(value)
        if kind == "system":
            raise OSError(*value)
        if kind == "broke":
            raise BrokenOff(value)
        return value

    def stop(self) -> None:
        """End the process if it is still at work."""
        self._process.terminate()
        self._process.join(STOP_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()
        self.pipe.close()


def _work(pipe: Connection, function: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        answer = "returned", function(*arguments, lambda value: pipe.send(("told", value)))
    except LayakoshError as error:
        answer = "refused", str(error)
    except OSError as error:
        answer = "system", (error.errno, error.strerror or str(error), error.filename)
    except BaseException as error:  # whatever it is, the parent has to hear of it
        answer = "broke", f"{type(error).__name__}: {error}"
    pipe.send(answer)
    pipe.close()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Start a process in here and Ctrl-C never reaches it: it inherits that the signal is held back."""
    if not hasattr(signal, "pthread_sigmask"):
        yield  # where there are no such masks Ctrl-C reaches it, and it ends with a message of its own
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
