"""A server gives freed memory back: measured in a process of its own, with and without."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from annotate.archive import Archive
from dashboard.library import Library
from dashboard.pages import tihais
from dashboard.pages.page import Page
from dashboard.routes import page_at

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


def test_pages_that_read_tables_of_the_whole_archive_are_made_one_at_a_time(
    finished_archive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    library, at_work, most = Library(Archive.open(finished_archive)), [0], [0]
    counting = threading.Lock()

    def slow(_library: Library, _wanted: object) -> Page:
        with counting:
            at_work[0] += 1
            most[0] = max(most[0], at_work[0])
        time.sleep(0.05)
        with counting:
            at_work[0] -= 1
        return Page("Tihais", "")

    monkeypatch.setattr(tihais, "page", slow)
    with ThreadPoolExecutor(5) as people:
        pages = list(people.map(lambda _person: page_at(library, "/tihais", ""), range(5)))
    assert [page.title for page in pages] == ["Tihais"] * 5
    assert most == [1]
