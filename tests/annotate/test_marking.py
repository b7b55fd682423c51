"""Marking sams, tihais and phrases by hand; bad input changes nothing."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from annotate.archive import Archive
from annotate.errors import BadAnnotation, BadMarks, ConflictingEdit
from annotate.marking import mark_sams, record_phrase, record_tihai
from annotate.records import MarkedSam, Recording
from annotate.revisions import add, change
from tests.annotate.desk import SAMS_S, SLUG, at, fingerprint
from theory.errors import NotationError, TheoryError, UnknownName
from theory.tihai import LandingRule

STARTS_S = (at(2, 1), at(2, 7), at(2, 13))


def test_a_mark_near_an_earlier_one_moves_it(archive: Archive) -> None:
    grid = mark_sams(archive, SLUG, [26.1, 34.2], who="asha")
    assert grid.sams()["sam_s"].tolist() == [10, 18, 26.1, 34.2, *SAMS_S[4:]]
    assert len(archive.state(SLUG).marked_sams) == len(SAMS_S)
    assert archive.history(SLUG)[-1].who == "asha"


def test_a_mark_elsewhere_is_a_new_sam(archive: Archive) -> None:
    mark_sams(archive, SLUG, [30.0])
    assert archive.state(SLUG).marked_sams[3] == MarkedSam("s12", "gat", 30.0)


def test_marking_the_same_sam_again_writes_nothing(archive: Archive) -> None:
    before = fingerprint(archive)
    mark_sams(archive, SLUG, [26.0])
    assert fingerprint(archive) == before


@pytest.mark.parametrize(
    ("times_s", "why"),
    [
        ([30.0, 20.0], "out of order: 0:20 stands after 0:30"),
        ([30.0, 30.0], "out of order"),
        ([30.0, 30.1], "100 ms apart"),
        ([101.0], "after the end of 'evening', which is 1:40 long"),
        ([-1.0], "not a time in a recording"),
        ([float("nan")], "not a time"),
        ([5.0], "in 'alap' \\(alap\\), which has no tala. Sections with a tala: 0:10 to 1:30"),
        ([95.0], "in no section"),
        ([], "No sam was given"),
    ],
)
def test_bad_marks_are_refused_with_the_reason_and_nothing_is_written(
    archive: Archive, times_s: Sequence[float], why: str
) -> None:
    before = fingerprint(archive)
    with pytest.raises(BadMarks, match=why):
        mark_sams(archive, SLUG, times_s)
    assert fingerprint(archive) == before


def test_the_last_sam_may_lie_a_little_after_its_section(archive: Archive) -> None:
    mark_sams(archive, SLUG, [90.2])
    assert archive.grid(SLUG).sams()["sam_s"].iloc[-1] == 90.2


def test_a_recording_without_sections_cannot_have_sams(archive: Archive) -> None:
    archive.commit("bare", [add(Recording("bare", "Bare"))], "a", "")
    with pytest.raises(BadMarks, match="Load sections with a tala first"):
        mark_sams(archive, "bare", [1.0])


def test_a_tihai_is_written_down_with_the_next_key(archive: Archive) -> None:
    first = record_tihai(archive, SLUG, palla_s=STARTS_S, landing_s=at(3, 1), palla="S R G m P", dam=Fraction(1))
    second = record_tihai(archive, SLUG, palla_s=STARTS_S, landing_s=at(3, 1), who="bela", rule="after", label="again")
    assert (first.tihai, second.tihai) == ("t01", "t02")
    assert archive.state(SLUG).tihais == (first, second)
    assert (first.tala, first.rule, second.rule) == ("teental", LandingRule.WITHIN, LandingRule.AFTER)


def test_start_and_dam_are_read_from_the_grid_when_not_given(archive: Archive) -> None:
    jitter_s = (0.02, -0.03, 0.01)
    starts = [at(4, 12 + 5.5 * palla) + jitter for palla, jitter in zip(range(3), jitter_s, strict=True)]
    record = record_tihai(archive, SLUG, palla_s=starts, landing_s=at(5, 12), palla="S R G m P:1/2")
    assert (record.start, record.dam) == (12, 1)


def test_what_is_given_is_not_read_from_the_grid(archive: Archive) -> None:
    record = record_tihai(
        archive, SLUG, palla_s=STARTS_S, landing_s=at(3, 1), palla="S R", dam=Fraction(1, 2), start=Fraction(3)
    )
    assert (record.start, record.dam) == (3, Fraction(1, 2))


def test_without_a_palla_nothing_is_read_into_it(archive: Archive) -> None:
    record = record_tihai(archive, SLUG, palla_s=STARTS_S, landing_s=at(3, 1))
    assert (record.palla, record.start, record.dam) == ("", None, None)


@pytest.mark.parametrize(
    ("changes", "error", "why"),
    [
        ({"landing_s": at(2, 10)}, BadAnnotation, "comes before the third palla at 0:24"),
        ({"landing_s": STARTS_S[2]}, BadAnnotation, "comes before the third palla"),
        ({"palla_s": STARTS_S[::-1]}, BadAnnotation, "out of order"),
        ({"palla_s": STARTS_S[:2]}, BadAnnotation, "2 came"),
        ({"palla_s": ()}, BadAnnotation, "0 came"),
        ({"palla_s": STARTS_S[:1], "landing_s": 1.0}, BadAnnotation, "before the start"),
        ({"landing_s": 101.0}, BadAnnotation, "after the end"),
        ({"landing_s": float("inf")}, BadAnnotation, "not a time"),
        ({"palla": "S R Q"}, NotationError, r"(?m)^ +\^$"),
        ({"palla": "- -"}, TheoryError, "no stroke"),
        ({"tala": "tintaal x"}, UnknownName, "Teental"),
        ({"palla": "S R", "dam": Fraction(-1), "start": Fraction(1)}, BadAnnotation, "less than nothing"),
        ({"palla": "S R", "dam": Fraction(1), "start": Fraction(17)}, BadAnnotation, "has 16"),
        ({"target": Fraction(0)}, BadAnnotation, "aims at matra 0"),
    ],
)
def test_a_bad_tihai_is_refused_with_the_reason_and_nothing_is_written(
    archive: Archive, changes: dict[str, object], error: type[Exception], why: str
) -> None:
    before = fingerprint(archive)
    with pytest.raises(error, match=why):
        record_tihai(archive, SLUG, **{"palla_s": STARTS_S, "landing_s": at(3, 1), **changes})  # type: ignore[arg-type]
    assert fingerprint(archive) == before


def test_a_phrase_is_written_down(archive: Archive) -> None:
    record = record_phrase(archive, SLUG, start_s=20, end_s=22, swaras=" R m P ", role="pakad", who="asha")
    assert archive.state(SLUG).phrases == (record,)
    assert (record.phrase, record.swaras, record.role, record.who) == ("p01", "R m P", "pakad", "asha")


@pytest.mark.parametrize(
    ("start_s", "end_s", "swaras", "error"),
    [
        (22, 20, "S", BadAnnotation),
        (20, 20, "S", BadAnnotation),
        (20, 200, "S", BadAnnotation),
        (20, 22, "S X", NotationError),
        (20, 22, "", BadAnnotation),
        (20, 22, "- -", BadAnnotation),
    ],
)
def test_a_bad_phrase_is_refused_and_nothing_is_written(
    archive: Archive, start_s: float, end_s: float, swaras: str, error: type[Exception]
) -> None:
    before = fingerprint(archive)
    with pytest.raises(error):
        record_phrase(archive, SLUG, start_s=start_s, end_s=end_s, swaras=swaras)
    assert fingerprint(archive) == before


def test_two_people_write_tihais_at_once_and_both_are_kept(archive: Archive) -> None:
    start = threading.Barrier(2)

    def write(label: str) -> None:
        mine = Archive.open(archive.path)
        for _ in range(10):
            start.wait()
            record_tihai(mine, SLUG, palla_s=STARTS_S, landing_s=at(3, 1), label=label)

    writers = [threading.Thread(target=write, args=(label,)) for label in "ab"]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    labels = [each.label for each in archive.state(SLUG).tihais]
    assert sorted(labels) == ["a"] * 10 + ["b"] * 10


def test_a_sam_that_somebody_moved_meanwhile_is_not_moved_again_unseen(archive: Archive) -> None:
    mark = archive.state(SLUG).marked_sams[2]
    parent = archive.state(SLUG).revision
    mark_sams(archive, SLUG, [26.1], who="bela")
    with pytest.raises(ConflictingEdit, match="bela changed"):
        archive.commit(SLUG, [change(replace(mark, sam_s=25.9))], "asha", "", parent)
