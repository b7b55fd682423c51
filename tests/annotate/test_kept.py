"""What is remembered of recordings is bounded."""

from __future__ import annotations

from annotate.archive import Archive
from annotate.kept import Kept
from annotate.records import Recording
from annotate.revisions import add


def test_the_least_recently_used_is_forgotten() -> None:
    kept: Kept[int] = Kept(most=2)
    for number, key in enumerate("ab"):
        kept.keep(key, number)
    assert kept.get("a") == 0
    kept.keep("c", 2)
    assert (kept.get("a"), kept.get("b"), kept.get("c")) == (0, None, 2)
    kept.keep("a", 9)
    assert kept.get("a") == 9


def test_an_archive_reads_again_what_it_has_forgotten(archive: Archive) -> None:
    archive._states = Kept(most=1)
    archive.commit("morning", [add(Recording("morning", "Morning"))], "a", "")
    assert archive.state("evening").recording.title == "Evening"
    assert archive.state("morning").recording.title == "Morning"
    assert archive.state("evening").recording.title == "Evening"
