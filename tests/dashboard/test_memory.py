"""A server gives freed memory back: measured in a process of its own, with and without."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

_RESIDENT = """
import sys, threading
from pathlib import Path
from dashboard.memory import spare_memory
if sys.argv[1] == "spared":
    spare_memory()
import pyarrow as pa
def read():
    tables = [pa.array([float(i)] * 20_000) for i in range(200)]
    lists = [list(range(400)) for _ in range(3000)]
    return len(tables) + len(lists)
threads = [threading.Thread(target=read) for _ in range(8)]
for thread in threads: thread.start()
for thread in threads: thread.join()
print(int(Path("/proc/self/statm").read_text().split()[1]) * 4096)
"""


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="measured by /proc, which this system has not")
def test_what_threads_have_freed_goes_back_to_the_system() -> None:
    def resident_bytes(how: str) -> int:
        run = subprocess.run([sys.executable, "-c", _RESIDENT, how], capture_output=True, text=True, check=True)
        return int(run.stdout)

    assert resident_bytes("spared") < 0.9 * resident_bytes("as it is")
