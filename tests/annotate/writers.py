"""Writers to be killed: a process that was started once and forks one after another, so that a start costs nothing.

Run as ``python -m tests.annotate.writers ARCHIVE``; it reads a line per job and answers in lines on standard output:

* ``edit SEED`` forks a writer that edits until it is killed. It says ``pid N``, then ``did SLUG REVISION STEP`` after
  each commit has returned, and when the writer is gone ``gone``.
* ``teach SEED`` the same of a writer that edits a course: ``did COURSE REVISION STEP``.
* ``share SECONDS WRITERS SEED`` forks several that edit the same rows for a time; each says what it did, conflicts too.

The parent of the forks never uses Arrow, whose threads a fork would not take along.
"""

from __future__ import annotations

import os
import random
import sys
import time
from dataclasses import replace
from fractions import Fraction
from typing import cast

import annotate.index  # noqa: F401 - before the first fork, so that no writer has to
from annotate import snapshots
from annotate.archive import Archive
from annotate.courses.course import Chapter, Course
from annotate.courses.shelf import Courses
from annotate.errors import ConflictingEdit
from annotate.history import ledger
from annotate.records import PhraseRecord, Record, Recording, Section, TihaiRecord
from annotate.revisions import Edit, add, change, withdraw

EVERY = 8
"""Snapshots and ledgers come so often here: more moments to be killed at, and less to replay."""
SLUGS = ("morning", "evening", "night")
COURSE = "step-0"
KEPT = 5
"""So many of the rows added last are there; older ones are withdrawn."""


def first_rows(slug: str) -> list[Record]:
    """The rows of a recording before the first step."""
    return [
        Recording(slug, slug.title(), duration_s=100.0),
        Section("gat", "gat", 10.0, 90.0, "teental"),
        PhraseRecord("count", 1.0, 2.0, "S", role="0"),
    ]


def step(number: int) -> list[Edit]:
    """The edits of a step: five rows of two tables, all of which are done or none."""
    edits = [
        add(_phrase(number)),
        add(_tihai(number)),
        change(PhraseRecord("count", 1.0, 2.0, "S", role=str(number))),
    ]
    if number > KEPT:
        edits += [withdraw("phrases", f"p{number - KEPT:02d}"), withdraw("tihais", f"t{number - KEPT:02d}")]
    return edits


def rows_after(slug: str, number: int) -> dict[str, dict[str, Record]]:
    """All rows of a recording after so many steps."""
    last = range(max(1, number - KEPT + 1), number + 1)
    recording, section, _count = first_rows(slug)
    count = PhraseRecord("count", 1.0, 2.0, "S", role=str(number))
    return {
        "recordings": {slug: recording},
        "sections": {"gat": section},
        "sams": {},
        "tihais": {f"t{each:02d}": _tihai(each) for each in last},
        "phrases": {"count": count, **{f"p{each:02d}": _phrase(each) for each in last}},
    }


def _phrase(number: int) -> PhraseRecord:
    return PhraseRecord(f"p{number:02d}", 20.0, 21.0 + number % 50, "S R G", role=f"step {number}")


def _tihai(number: int) -> TihaiRecord:
    return TihaiRecord(f"t{number:02d}", (20.0, 21.0, 22.0), 24.0, dam=Fraction(number), label=f"step {number}")


def say(*words: object) -> None:
    """Say something in one write, so that lines of several processes stay whole."""
    os.write(1, (" ".join(map(str, words)) + "\n").encode())


def edit(place: str, seed: int) -> None:
    """Edit the recordings in turn by chance, and read the index now and then, until killed."""
    chance, archive = random.Random(seed), Archive.open(place)
    while True:
        slug = chance.choice(SLUGS)
        number = int(cast(PhraseRecord, archive.state(slug).rows["phrases"]["count"]).role) + 1
        say("did", slug, archive.commit(slug, step(number), "writer", f"step {number}"), number)
        if chance.random() < 0.1:
            archive.index(chance.choice(["phrases", "tihais", "recordings"]))


def course(number: int) -> Course:
    """A course after so many steps: all of it tells the step, or none."""
    return Course(f"step {number}", chapters=(Chapter("00000001", f"step {number}", f"step {number}\n" * 200),))


def teach(place: str, _seed: int) -> None:
    """Edit a course, again and again, until killed."""
    courses = Courses(Archive.open(place))
    while True:
        now = courses.get(COURSE)
        number = int(now.content.title.split()[1]) + 1
        written = courses.edit(COURSE, course(number), seen=now.latest.number, who="writer")
        say("did", COURSE, written.kept.latest.number, number)


def share(place: str, name: str, seconds: float, seed: int) -> None:
    """Add to a count that all share, each time on the revision at which it was read, and add rows of one's own."""
    chance, archive, own = random.Random(f"{name}{seed}"), Archive.open(place), 0
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        slug = chance.choice(SLUGS)
        if chance.random() < 0.5:
            own += 1
            key = f"{name}-{own}"
            say("own", slug, archive.commit(slug, [add(PhraseRecord(key, 30.0, 31.0, "S"))], name, key), key)
            continue
        state = archive.state(slug)
        count = cast(PhraseRecord, state.rows["phrases"]["count"])
        more = replace(count, role=str(int(count.role) + 1))
        try:
            say("count", slug, archive.commit(slug, [change(more)], name, "", parent=state.revision), more.role)
        except ConflictingEdit:
            say("conflict", slug, state.revision, name)


def main(place: str) -> None:
    """Do the jobs that are read from standard input."""
    snapshots.EVERY = ledger.EVERY = EVERY
    for line in sys.stdin:
        job, *told = line.split()
        if job in ("edit", "teach"):
            pid = os.fork()
            if not pid:
                {"edit": edit, "teach": teach}[job](place, int(told[0]))
            say("pid", pid)
            os.waitpid(pid, 0)
        else:
            pids = []
            for number in range(int(told[1])):
                pid = os.fork()
                if not pid:
                    share(place, f"w{number}", float(told[0]), int(told[2]))
                    os._exit(0)
                pids.append(pid)
            for pid in pids:
                _pid, status = os.waitpid(pid, 0)
                if status:
                    say("broke", pid, status)
        say("gone")


if __name__ == "__main__":
    main(sys.argv[1])
