"""Pieces of a course: how they are written, what is told of them, also when they are gone, and how they are found."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.compositions.composition import Composition
from annotate.compositions.shelf import Shelf
from annotate.courses import editing
from annotate.courses.as_markdown import to_markdown
from annotate.courses.exercise_sets import read_exercises, written
from annotate.courses.finding import find_pieces
from annotate.courses.piece import find, read_piece, require_there
from annotate.errors import NoSuchRecording, NoSuchRow
from annotate.removing import remove
from annotate.revisions import change, withdraw
from annotate.shelves.errors import BadThing, NoSuchThing
from annotate.withdrawing import withdraw_recording
from tests.annotate.courses.conftest import COURSE, FIRST, THIRD
from tests.annotate.desk import SLUG, tihai
from theory.errors import UnknownName
from theory.exercises.wishes import KINDS, ExerciseWishes
from theory.tihai import LandingRule

FIVES = Composition("Fives", "teental", "Dha Ti Ta Ka Dha", dam=Fraction(1))


@pytest.fixture
def archive(archive: Archive) -> Archive:
    Shelf(archive).keep(FIVES, who="")
    return archive


def test_each_kind_of_piece_is_told_in_words_with_its_notation(archive: Archive) -> None:
    told = {text: find(archive, text) for text in (f"{SLUG}/t01", f"{SLUG}/p01", "raga:desh", "composition:fives")}
    assert [(each.kind, each.name) for each in told.values()] == [
        ("tihai", "Tihai t01 at 0:18 of Evening"),
        ("phrase", "Mukhra p01 at 0:20 of Evening"),
        ("raga", "Raga Desh"),
        ("composition", "Fives"),
    ]
    assert [each.notation for each in told.values()][:2] == ["S R G m P", "R m P"]
    assert told["composition:fives"].facts == "Teental, 5 + 1 + 5 + 1 + 5 = 17 = 16 + 1"
    assert told[f"{SLUG}/t01"].facts == "Desh, Teental, dam 1 matra"
    assert not any(each.missing for each in told.values())


def test_a_row_that_is_withdrawn_later_is_told_as_it_was_last(archive: Archive) -> None:
    archive.commit(SLUG, [change(tihai(palla="S R G m D"))], "asha", "put right")
    archive.commit(SLUG, [withdraw("tihais", "t01")], "asha", "wrong")
    gone = find(archive, f"{SLUG}/t01")
    assert (gone.kind, gone.notation) == ("tihai", "S R G m D")
    assert gone.missing == "It was withdrawn. What became of it: layakosh history evening t01"
    with pytest.raises(NoSuchRow):
        require_there(archive, f"{SLUG}/t01")


def test_a_recording_that_is_withdrawn_and_then_removed_is_told_and_the_piece_stays(archive: Archive) -> None:
    withdraw_recording(archive, SLUG, "asha")
    gone = find(archive, f"{SLUG}/t01")
    assert gone.notation == "S R G m P"
    assert "layakosh bring-back evening" in gone.missing
    remove(archive, SLUG, "asha")
    gone = find(archive, f"{SLUG}/t01")
    assert (gone.name, gone.missing) == ("t01 of evening", "Its recording is not in the archive.")


def test_a_composition_that_is_taken_out_and_what_never_was_are_told(archive: Archive) -> None:
    Shelf(archive).withdraw("fives", seen=1, who="")
    assert find(archive, "composition:fives").missing.startswith("It was taken out.")
    assert find(archive, "composition:fours").missing
    assert find(archive, f"{SLUG}/t99").missing == "'evening' has no such tihai or phrase."
    assert find(archive, "raga:nosuch").missing


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("evening", BadThing),
        ("evening/t01,t02", BadThing),
        ("tala:teental", BadThing),
        ("evening/t09", NoSuchRow),
        ("evenin/t01", NoSuchRecording),
        ("raga:desj", UnknownName),
        ("composition:fivez", NoSuchThing),
    ],
)
def test_only_what_is_there_is_put_into_a_course(archive: Archive, text: str, error: type[Exception]) -> None:
    with pytest.raises(error):
        require_there(archive, text)
    assert str(read_piece(" raga:Desh ")) == require_there(archive, "raga:Desh").text == "raga:desh"


def test_pieces_are_found_by_words_of_title_raga_notation_and_key(archive: Archive) -> None:
    def found(words: str) -> list[str]:
        return [each.text for each in find_pieces(archive, words)]

    assert found("evening t01") == [f"{SLUG}/t01"]
    assert found("EVENING mukhra") == [f"{SLUG}/p01"]
    assert found("G m evening") == [f"{SLUG}/t01"]
    assert found("M evening") == []
    assert found("five") == ["composition:fives"]
    assert found("desh")[0] == "raga:desh"
    assert {f"{SLUG}/t01", f"{SLUG}/p01"} <= set(found("desh"))
    assert found("  ") == found("nothing-of-the-kind") == []
    assert len(find_pieces(archive, "raga", most=3)) == 3


def test_exercises_are_pieces_too_and_are_kept_in_one_way(archive: Archive) -> None:
    typed = "exercises:level=3, kinds=start+dam, tala=jhaptal"
    kept = "exercises:tala=jhaptal,kinds=start+dam,level=3"
    assert str(read_piece(typed)) == str(read_piece(kept)) == require_there(archive, typed).text == kept
    found = find(archive, kept)
    assert (found.name, found.facts) == (
        "Exercises in Jhaptal",
        "10 questions: find the start, find the dam; difficulty 3",
    )
    assert find(archive, "exercises:tala=ten").missing.startswith("No tala is called 'ten'")
    for wrong in ("exercises:jhaptal", "exercises:level=9", "exercises:colour=red", "exercises:level=1,level=2"):
        with pytest.raises(BadThing):
            read_piece(wrong)
    with pytest.raises(UnknownName):
        require_there(archive, "exercises:tala=ten")
    assert [each.text for each in find_pieces(archive, "exerc jhaptal difficulty 3")] == [
        "exercises:tala=jhaptal,level=3"
    ]
    assert not [each for each in find_pieces(archive, "teental") if each.kind == "exercises"]


@given(
    st.builds(
        ExerciseWishes,
        tala=st.sampled_from(["teental", "ektal/bengali"]),
        kinds=st.lists(st.sampled_from(list(KINDS)), min_size=1, unique=True).map(tuple),
        rule=st.sampled_from(LandingRule),
        target=st.fractions(1, 16, max_denominator=8),
        level=st.none() | st.integers(1, 5),
        per_minute=st.none() | st.integers(10, 480),
        number=st.integers(1, 200),
        seed=st.integers(0, 10**9),
    )
)
@settings(max_examples=60, deadline=None)
def test_every_set_of_exercises_reads_back_as_it_was_written(wishes: ExerciseWishes) -> None:
    assert read_exercises(written(wishes)) == wishes
    assert str(read_piece(f"exercises:{written(wishes)}")) == f"exercises:{written(wishes)}"


def test_a_rejected_proposal_is_not_found(archive: Archive) -> None:
    archive.commit(SLUG, [change(tihai(status="rejected"))], "asha", "no tihai")
    assert [each.text for each in find_pieces(archive, "evening tihai")] == []


def test_a_course_as_markdown_has_its_chapters_as_headings_and_shows_names_as_they_are(archive: Archive) -> None:
    course = replace(COURSE, title="Land *on* sam", for_whom="<second> year")
    course = editing.with_changed(course, FIRST, notes="# Sing\ntext\n\nClap\n====\n\n```\n# no heading\n```")
    course = editing.with_changed(course, THIRD, pieces=("composition:fives", f"{SLUG}/t77"))
    lines = to_markdown(archive, course).splitlines()
    assert lines[0] == r"# Land \*on\* sam"
    assert r"For \<second\> year." in lines
    assert [line for line in lines if line.startswith("#")] == [
        lines[0], "## 1. The palla", "### Sing", "### Clap", "# no heading", "## 2. The dam", "## 3. All of it",
    ]  # fmt: skip
    assert "- **Tihai t01 at 0:18 of Evening** (`evening/t01`)  " in lines
    assert "  `S R G m P`  " in lines
    assert any("Not there now: 'evening' has no such" in line for line in lines)
