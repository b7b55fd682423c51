"""The overview of the archive counts what is there."""

from __future__ import annotations

import threading

from annotate.archive import Archive
from annotate.overview import Overview, overviews
from annotate.records import Recording
from annotate.revisions import add
from tests.annotate.desk import SAMS_S, SLUG, at, phrase, tihai


def test_an_overview_counts_what_is_written_of_each_recording(archive: Archive) -> None:
    rows = [
        tihai(),
        tihai("t02", dev_s=0.2),
        tihai("t03", status="rejected"),
        phrase(),
        phrase("p02", at(3, 1), at(3, 4)),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "asha", "")
    morning = Recording("morning", "Morning", musicians=(("tabla", "Devkant"),))
    archive.commit("morning", [add(morning)], "asha", "")
    evening, other = overviews(archive)
    assert evening == Overview(
        archive.state(SLUG).recording,
        talas=("teental",),
        sections=2,
        sams=len(SAMS_S),
        sams_marked=len(SAMS_S),
        tihais=3,
        rejected=1,
        measured=2,
        landing=1,
        phrases=2,
    )
    assert other == Overview(morning)
    assert overviews(archive, ["morning"]) == [other]
    assert overviews(archive, []) == []


def test_one_look_holds_for_its_thread_and_ends(archive: Archive) -> None:
    other = Archive.open(archive.store.place)
    with archive.one_look(), archive.one_look():
        other.commit("morning", [add(Recording("morning", "Morning"))], "asha", "")
        assert archive.slugs() == [SLUG]
        elsewhere: list[str] = []
        thread = threading.Thread(target=lambda: elsewhere.extend(archive.slugs()))
        thread.start()
        thread.join()
        assert elsewhere == sorted([SLUG, "morning"])
    assert archive.slugs() == sorted([SLUG, "morning"])
