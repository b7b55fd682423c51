"""A backup or a restoring that is killed half way: no half archive, no half backup, and a word on what to do."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.backup.errors import PlaceTaken
from annotate.backup.restoring import restore_backup
from annotate.backup.writing import write_backup
from annotate.errors import NotAnArchive
from annotate.files import STRAY_PREFIX
from annotate.store.opening import store_at
from tests.annotate.desk import SLUG

ROOT = Path(__file__).parents[3]


def killed(code: str, *arguments: str) -> None:
    """Run code that says when it is half way, and kill it there."""
    process = subprocess.Popen([sys.executable, "-c", code, *arguments], stdout=subprocess.PIPE, cwd=ROOT)
    assert process.stdout is not None
    assert process.stdout.readline() == b"half\n"
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()


HALF = """
import sys, time
from pathlib import Path
from annotate.backup.restoring import restore_backup
from annotate.backup.writing import write_backup
from annotate.store.opening import store_at
def tell(share):
    if share > 0.4:
        print("half", flush=True)
        time.sleep(60)
"""


@pytest.fixture
def large(archive: Archive) -> Archive:
    sound = archive.path / "recordings" / SLUG / "sound"
    sound.mkdir()
    (sound / "copy.opus").write_bytes(os.urandom(20 << 20))
    return archive


def test_a_backup_that_is_killed_leaves_no_file_of_its_name_and_the_next_sweeps(large: Archive, tmp_path: Path) -> None:
    kept = tmp_path / "backups" / "kept.zip"
    kept.parent.mkdir()
    killed(HALF + "write_backup(store_at(sys.argv[1]), Path(sys.argv[2]), tell=tell)", str(large.path), str(kept))
    (stray,) = kept.parent.iterdir()
    assert stray.name.startswith(STRAY_PREFIX)
    os.utime(stray, (1, time.time() - 3600))
    write_backup(large.store, kept)
    assert list(kept.parent.iterdir()) == [kept]


def test_a_restoring_that_is_killed_leaves_no_archive_and_it_is_said_what_to_do(large: Archive, tmp_path: Path) -> None:
    kept, there = tmp_path / "kept.zip", tmp_path / "there"
    write_backup(large.store, kept)
    killed(HALF + "restore_backup(Path(sys.argv[1]), store_at(sys.argv[2]), tell)", str(kept), str(there))
    with pytest.raises(NotAnArchive):
        Archive.open(there)
    with pytest.raises(PlaceTaken, match=r"broken off.*empty the place first, or name another"):
        restore_backup(kept, store_at(there))
    restore_backup(kept, store_at(tmp_path / "other"))
    assert Archive.open(tmp_path / "other").state(SLUG) == large.state(SLUG)
