"""The overview of the archive counts what is there."""

from __future__ import annotations

import threading
from fractions import Fraction

import pytest

from annotate.archive import Archive
from annotate.doubts import DOUBTFUL
from annotate.overview import Overview, overviews
from annotate.records import Recording, Section
from annotate.revisions import add
from tests.annotate.desk import SAMS_S, SLUG, at, phrase, tihai
from tests.annotate.test_doubts import grid_of


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
        proposed=2,
        phrases=2,
    )
    assert other == Overview(morning)
    assert overviews(archive, ["morning"]) == [other]
    assert overviews(archive, []) == []


def test_an_overview_counts_what_waits_for_somebody(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    confidence = [0.9, 0.1, DOUBTFUL, 0.2, 0.3]
    monkeypatch.setattr(Archive, "grid", lambda _self, _slug: grid_of(confidence, marked=[3]))
    heard = Section("heard", "alap", 0.0, 5.0, source="ingest")
    rows = [tihai(status="confirmed"), tihai("t02", dam=Fraction(2)), tihai("t03", dam=Fraction(2), status="rejected")]
    night = Recording("night", "Night", tala="teental", duration_s=90.0)
    archive.commit("night", [add(night), add(heard), *map(add, rows)], "asha", "")
    (counted,) = overviews(archive, ["night"])
    assert (counted.sams, counted.sams_marked, counted.sams_doubtful) == (5, 1, 2)
    assert (counted.tihais, counted.proposed, counted.sums_missing, counted.sections_heard) == (3, 1, 1, 1)


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
