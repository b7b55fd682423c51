"""A writer that is killed while it edits: what it acknowledged is there, nothing is half applied."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

from annotate.archive import Archive
from annotate.revisions import add
from tests.annotate.desk import SLUG, phrase

WRITER = """
import sys
from annotate.archive import Archive
from annotate.records import PhraseRecord
from annotate.revisions import add
archive = Archive.open(sys.argv[1])
for number in range(100000):
    pair = [PhraseRecord(f"{side}{number}", 20.0, 21.0, "S R") for side in ("left", "right")]
    archive.commit(sys.argv[2], [add(each) for each in pair], "writer", "")
    print(number, flush=True)
"""


def test_a_killed_writer_leaves_a_readable_archive_with_every_acknowledged_edit(archive: Archive) -> None:
    for _ in range(3):
        done_before = len(Archive.open(archive.path).state(SLUG).phrases)
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER.replace("{number}", f"-{done_before}-{{number}}"), str(archive.path), SLUG],
            stdout=subprocess.PIPE,
            cwd=Path(__file__).parents[2],
            text=True,
        )
        assert writer.stdout is not None
        acknowledged = [writer.stdout.readline() for _ in range(5)]
        time.sleep(0.013)  # into the midst of some edit
        writer.send_signal(signal.SIGKILL)
        acknowledged += writer.stdout.read().splitlines()
        writer.stdout.close()
        writer.wait()
        reader = Archive.open(archive.path)
        keys = {each.phrase for each in reader.state(SLUG).phrases}
        for number in range(len([line for line in acknowledged if line.strip()])):
            assert {f"left-{done_before}-{number}", f"right-{done_before}-{number}"} <= keys
        left = {key.removeprefix("left") for key in keys if key.startswith("left")}
        right = {key.removeprefix("right") for key in keys if key.startswith("right")}
        assert left == right
        assert len(reader.index("phrases")) == len(keys)
    archive.commit(SLUG, [add(phrase("after"))], "a", "")
