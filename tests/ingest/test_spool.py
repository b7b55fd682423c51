"""Long arrays in files without a name: nothing is lost, and the memory is given back."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ingest.spool import Spool, let_go, room_for

BIG = 64 << 20


def resident_mb() -> float:
    """What this process has in memory, MB; Linux only."""
    try:
        status = Path("/proc/self/status").read_text()
    except FileNotFoundError:
        pytest.skip("this system does not tell what a process has in memory")
    return next(int(line.split()[1]) / 1024 for line in status.splitlines() if line.startswith("VmRSS"))


@pytest.mark.parametrize("width", [None, 3])
def test_rows_come_out_as_they_came_in_whatever_the_blocks(width: int | None) -> None:
    shape = (10_000,) if width is None else (10_000, width)
    rows = np.random.default_rng(1).normal(size=shape).astype(np.float32)
    spool = Spool(width=width)
    for first, last in ((0, 1), (1, 1), (1, 4000), (4000, 10_000)):
        spool.append(rows[first:last])
    np.testing.assert_array_equal(spool.joined(), rows)


def test_nothing_taken_in_is_an_empty_array_of_that_width() -> None:
    assert Spool(width=7).joined().shape == (0, 7)
    assert Spool(np.int16).joined().dtype == np.int16


def test_rows_of_another_width_are_refused() -> None:
    with pytest.raises(ValueError, match=r"\(7,\) were expected"):
        Spool(width=7).append(np.zeros((4, 6), np.float32))


def test_memory_is_given_back_and_nothing_is_lost() -> None:
    array = room_for((BIG,), np.uint8, in_memory_bytes=1 << 20)
    array[:] = 7
    full = resident_mb()
    let_go(array[1000:])  # a part is enough
    assert resident_mb() < full - 0.9 * BIG / 2**20
    assert array[0] == array[-1] == 7


def test_arrays_in_memory_stay_as_they_are() -> None:
    array = room_for((100,), np.float32, in_memory_bytes=1 << 20)
    array[:] = 3
    let_go(array, np.arange(3))
    assert (array == 3).all()
