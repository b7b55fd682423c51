"""Writers that are killed while they edit, and several at once: what was acknowledged is there, nothing half applied.

The seeds are printed. ``LAYAKOSH_WRITERS_S`` says for how many seconds four write at once (60 for the full minute), and
``LAYAKOSH_KILLS`` how often a writer is killed.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import cast

import pytest

from annotate import snapshots
from annotate.archive import Archive
from annotate.check.whole import check
from annotate.courses.shelf import Courses
from annotate.files import STRAY_PREFIX
from annotate.history import ledger
from annotate.records import PhraseRecord
from annotate.revisions import add
from tests.annotate.writers import COURSE, EVERY, SLUGS, course, first_rows, rows_after, step

KILLS = int(os.environ.get("LAYAKOSH_KILLS", "200"))
COURSE_KILLS = KILLS // 10
WRITERS_S = float(os.environ.get("LAYAKOSH_WRITERS_S", "4"))
SEED = 20

Writers = subprocess.Popen[str]


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(snapshots, "EVERY", EVERY)
    monkeypatch.setattr(ledger, "EVERY", EVERY)
    archive = Archive.create(tmp_path / "archive")
    for slug in SLUGS:
        archive.commit(slug, [add(row) for row in first_rows(slug)], "test", "made")
    return str(archive.path)


@pytest.fixture
def writers(place: str) -> Iterator[Writers]:
    root = Path(__file__).parents[2]
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.annotate.writers", place],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=root,
        text=True,
    )
    yield process
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.close()
    process.stdout.close()
    process.wait(60)


def answers(writers: Writers, job: str) -> Iterator[list[str]]:
    """Give a job; its answers, until its writers are gone."""
    assert writers.stdin is not None
    assert writers.stdout is not None
    writers.stdin.write(job + "\n")
    writers.stdin.flush()
    for line in writers.stdout:
        words = line.split()
        if words == ["gone"]:
            return
        yield words
    raise AssertionError("the writers ended")


def steps_of(archive: Archive, slug: str) -> int:
    return int(cast(PhraseRecord, archive.state(slug).rows["phrases"]["count"]).role)


def strays(place: str) -> list[Path]:
    return list(Path(place).rglob(f"{STRAY_PREFIX}*"))


def test_a_writer_killed_at_any_moment_loses_no_acknowledged_edit_and_leaves_none_half_applied(
    place: str, writers: Writers
) -> None:
    print(f"{KILLS} kills, seed {SEED}")
    chance, done, seen_strays = random.Random(SEED), dict.fromkeys(SLUGS, 0), 0
    for kill in range(KILLS):
        acknowledged, pid, wait_s = dict(done), 0, chance.uniform(0.0, 0.05)
        for words in answers(writers, f"edit {SEED + kill}"):
            if words[0] == "pid":
                pid = int(words[1])
            else:
                _did, slug, revision, number = words
                acknowledged[slug] = int(number)
                assert int(revision) == int(number) + 1
            if pid and sum(acknowledged.values()) > sum(done.values()):  # it is at work: kill it a moment later
                time.sleep(wait_s)
                os.kill(pid, signal.SIGKILL)
                pid = 0
        reader = Archive.open(place)
        for slug in SLUGS:
            done[slug] = steps_of(reader, slug)
            assert acknowledged[slug] <= done[slug] <= acknowledged[slug] + 1, (slug, kill)
            state = reader.state(slug)
            assert state.rows == rows_after(slug, done[slug]), (slug, kill)
            assert state.revision == done[slug] + 1
        left = strays(place)
        seen_strays += len(left)
        for path in left:
            os.utime(path, (1, 1))  # ten minutes later
        if left or kill == KILLS - 1:  # the next write, wherever one is
            for slug in SLUGS:
                done[slug] += 1
                Archive.open(place).commit(slug, step(done[slug]), "after", "")
                Archive.open(place).state(slug)
            keys = reader.index("phrases").groupby("recording")["phrase"].apply(set)
            assert all(keys[slug] == set(rows_after(slug, done[slug])["phrases"]) for slug in SLUGS)
            for table in ("tihais", "recordings"):
                reader.index(table)
            assert strays(place) == [], kill
    print(f"{sum(done.values())} edits, {seen_strays} strays left by kills and swept")
    assert [finding for finding in check(Archive.open(place).store) if finding.damage] == []


def test_one_killed_while_editing_a_course_loses_no_acknowledged_edit_and_leaves_none_half_written(
    place: str, writers: Writers
) -> None:
    Courses(Archive.open(place)).keep(course(0), who="test")
    chance, done = random.Random(SEED), 0
    for kill in range(COURSE_KILLS):
        acknowledged, pid, wait_s = done, 0, chance.uniform(0.0, 0.02)
        for words in answers(writers, f"teach {kill}"):
            if words[0] == "pid":
                pid = int(words[1])
            else:
                acknowledged = int(words[3])
            if pid and acknowledged > done:
                time.sleep(wait_s)
                os.kill(pid, signal.SIGKILL)
                pid = 0
        now = Courses(Archive.open(place)).get(COURSE)
        done = now.latest.number - 1
        assert acknowledged <= done <= acknowledged + 1, kill
        assert [each.content for each in now.revisions] == [course(number) for number in range(done + 1)]
        assert now.unread == ()
    print(f"{done} edits of a course in {COURSE_KILLS} kills")
    assert [finding for finding in check(Archive.open(place).store) if finding.damage] == []


def test_four_writers_at_once_make_one_history_and_lose_no_acknowledged_edit(place: str, writers: Writers) -> None:
    print(f"four writers for {WRITERS_S:g} s, seed {SEED}")
    told: dict[tuple[str, int], tuple[str, str]] = {}
    kinds: Counter[str] = Counter()
    for what, slug, revision, key in answers(writers, f"share {WRITERS_S} 4 {SEED}"):
        assert what != "broke"
        kinds[what] += 1
        if what != "conflict":
            assert (slug, int(revision)) not in told, "two were told the same number"
            told[slug, int(revision)] = what, key
    print(dict(kinds))
    assert kinds["own"] > 20
    assert kinds["count"] > 20
    archive = Archive.open(place)
    for slug in SLUGS:
        history = archive.history(slug)
        assert [each.number for each in history] == list(range(1, len(history) + 1))
        assert {number for of, number in told if of == slug} == set(range(2, len(history) + 1))
        counted = 0
        for revision in history[1:]:
            what, key = told[slug, revision.number]
            (edit,) = revision.edits
            record = cast(PhraseRecord, edit.record)
            if what == "own":
                assert record.phrase == key
            else:  # nobody counted on a count that was no longer so
                counted += 1
                assert (record.phrase, record.role, key) == ("count", str(counted), str(counted))
        assert steps_of(archive, slug) == counted
    assert [finding for finding in check(archive.store) if finding.damage] == []
