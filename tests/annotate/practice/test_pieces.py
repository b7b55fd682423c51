from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from annotate.archive import Archive
from annotate.errors import NoSuchRecording, NoSuchRow
from annotate.practice.errors import BadPiece
from annotate.practice.pieces import piece, pieces
from annotate.revisions import add
from tests.annotate.desk import SLUG, at, phrase, tihai
from theory.tihai import LandingRule


@pytest.fixture
def written(archive: Archive) -> Archive:
    rows = [
        tihai("t01", cycle=2),
        tihai("t02", cycle=5, dev_s=0.02, rule=LandingRule.AFTER, palla="DhaTiTe Dha", start=None),
        tihai("t03", cycle=7, palla="", start=None, dam=None),
        tihai("t04", cycle=7, dam=None),
        phrase("p01", at(3, 12), at(4, 1), "R m P N S'"),
        phrase("p02", 2.0, 5.0, "S R"),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "test", "written")
    return archive


def test_a_tihai_is_a_piece_with_its_tala_laya_and_the_sams_around_it(written: Archive) -> None:
    made = piece(written, "evening/t01")
    assert (made.slug, made.key, made.address, made.name) == (SLUG, "t01", "evening/t01", "Tihai t01 of Evening")
    assert made.tala is not None
    assert (made.tala.key, made.raga, made.script) == ("teental", "desh", "sargam")
    assert made.tihai is not None
    assert made.phrase is None
    assert made.start == 1
    assert made.per_minute == pytest.approx(
        120, rel=1e-6, abs=0
    )  # every matra of the small archive lasts half a second
    assert (made.start_s, made.end_s) == (at(2, 1), at(3, 1))
    assert made.sam_s == (at(2, 1), at(3, 1))
    assert made.passage.length == 5 + 1 + 5 + 1 + 5
    assert [note.symbol for note in made.passage.notes] == list("SRGmP") * 3


def test_where_no_start_is_written_it_is_the_one_that_was_played(written: Archive) -> None:
    made = piece(written, "evening/t02")
    assert made.start == 1
    assert made.script == "bols"


def test_a_phrase_begins_on_the_matra_on_which_it_was_played(written: Archive) -> None:
    made = piece(written, "evening/p01")
    assert made.tihai is None
    assert made.phrase is not None
    assert (made.start, made.name) == (Fraction(12), "Mukhra p01 of Evening")
    assert made.sam_s == (at(3, 1), at(4, 1))


def test_a_phrase_outside_any_tala_has_neither_tala_nor_laya(written: Archive) -> None:
    made = piece(written, "evening/p02")
    assert (made.tala, made.per_minute, made.sam_s, made.start) == (None, None, (), 1)


def test_several_rows_of_a_recording_are_named_with_commas_and_come_once_each(written: Archive) -> None:
    made = pieces(written, tihais=["evening/t02,t01", "evening/t01"], phrases=["evening/p02"])
    assert [each.key for each in made] == ["t02", "t01", "p02"]


@pytest.mark.parametrize("address", ["", "evening", "evening/", "/t01", "evening/t01,", "evening/t01,t02"])
def test_what_is_no_address_of_one_piece_is_refused_with_an_example(written: Archive, address: str) -> None:
    with pytest.raises(BadPiece, match="Write RECORDING/ROW, such as desh-gat-in-teental/t01"):
        piece(written, address)


def test_an_unknown_recording_is_refused_with_the_nearest(written: Archive) -> None:
    with pytest.raises(NoSuchRecording, match="Did you mean evening"):
        piece(written, "evenings/t01")


def test_an_unknown_row_is_refused_with_the_nearest_first(written: Archive) -> None:
    with pytest.raises(NoSuchRow, match=r"'evening' has no tihai or phrase 'p1'\. It has p01,"):
        piece(written, "evening/p1")
    with pytest.raises(NoSuchRow, match=r"'evening' has no tihai 'p01'\. It has t01"):
        pieces(written, tihais=["evening/p01"])


@pytest.mark.parametrize(("key", "missing"), [("t03", "no palla and no dam is"), ("t04", "no dam is")])
def test_a_tihai_of_which_too_little_is_written_down_is_refused(written: Archive, key: str, missing: str) -> None:
    with pytest.raises(BadPiece, match=f"Of the tihai evening/{key} {missing} written down"):
        piece(written, f"evening/{key}")


def test_the_tala_of_a_tihai_is_that_of_the_section_where_it_has_none_of_its_own(archive: Archive) -> None:
    archive.commit(SLUG, [add(replace(tihai("t01"), tala=""))], "test", "written")
    made = piece(archive, "evening/t01")
    assert made.tala is not None
    assert made.tala.key == "teental"


def test_a_phrase_without_a_swara_is_refused(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase("p01", swaras="_ -"))], "test", "written")
    with pytest.raises(BadPiece, match="Of the phrase evening/p01 no swara is written down"):
        piece(archive, "evening/p01")
