"""A function at work in a process of its own."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from annotate.beside import Beside
from annotate.errors import ArchiveError, BadOrder, BrokenOff


def count(number: int, tell: Callable[[object], None]) -> int:
    """Tell every number below ``number`` and return their sum."""
    for each in range(number):
        tell(each)
    return sum(range(number))


def fail(how: str, _tell: Callable[[object], None]) -> None:
    """Fail in one of several ways."""
    if how == "refuse":
        raise BadOrder("The order is bad.")
    if how == "system":
        raise OSError(28, "No space left on device", "some file")
    if how == "kill":
        os.kill(os.getpid(), signal.SIGKILL)
    raise ValueError("a mistake of ours")


def wait_long(tell: Callable[[object], None]) -> None:
    """Tell the process's number, then do nothing for long."""
    tell(os.getpid())
    time.sleep(60)


def test_what_is_told_and_returned_comes_in_order() -> None:
    told: list[object] = []
    beside = Beside(count, 5)
    assert beside.result(told.append) == 10
    assert told == [0, 1, 2, 3, 4]
    assert beside.ended
    assert beside.result() == 10
    beside.stop()


@pytest.mark.parametrize(
    ("how", "error", "message"),
    [
        ("refuse", ArchiveError, "The order is bad."),
        ("system", OSError, "No space left on device"),
        ("kill", BrokenOff, "ended with code -9"),
        ("break", BrokenOff, "ValueError: a mistake of ours"),
    ],
)
def test_however_it_fails_the_parent_is_told(how: str, error: type[Exception], message: str) -> None:
    beside = Beside(fail, how)
    with pytest.raises(error, match=message):
        beside.result()
    beside.stop()


def test_it_ends_when_it_is_stopped_and_when_its_parent_is_killed() -> None:
    beside = Beside(wait_long)
    (process,) = beside.heard(wait_s=30)
    beside.stop()
    with pytest.raises(ProcessLookupError):
        os.kill(process, 0)
    parent = """
from annotate.beside import Beside
from tests.annotate.test_beside import wait_long
print(Beside(wait_long).heard(wait_s=30)[0], flush=True)
import time
time.sleep(60)
"""
    root = Path(__file__).parents[2]
    killed = subprocess.Popen([sys.executable, "-c", parent], stdout=subprocess.PIPE, text=True, cwd=root)
    assert killed.stdout is not None
    process = int(killed.stdout.readline())
    killed.send_signal(signal.SIGKILL)
    killed.communicate()
    for _ in range(3000):
        if not Path(f"/proc/{process}").exists() or "zombie" in Path(f"/proc/{process}/status").read_text():
            break
        time.sleep(0.01)
    else:
        os.kill(process, signal.SIGKILL)
        pytest.fail("it went on although its parent was killed")
