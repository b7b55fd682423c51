"""Exercises from an archive: about its own tihais as far as there are any, the same again by the seed, printed."""

from __future__ import annotations

import io
import json
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.practice.exercises.drawn import ExerciseSet, exercises
from annotate.practice.exercises.played import written_in
from annotate.practice.exercises.printed import exercises_html, exercises_pdf
from annotate.practice.exercises.shown import shown_all
from annotate.practice.pieces import pieces
from annotate.revisions import add
from tests import needs
from tests.annotate.desk import SLUG, make_archive, phrase, tihai
from theory.errors import UnknownName
from theory.exercises.question import MADE_UP
from theory.exercises.wishes import KINDS, ExerciseWishes
from theory.tihai import LandingRule

CHAKRADAR = "Ge Ti Ta Ka Na TiRa Kat Dha TiRa Kat Dha TiRa Kat Dha"
WANTED = ExerciseWishes(number=12, kinds=tuple(KINDS), seed=3)


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """Four tihais: two that land on paper, one that does not, one of which nothing is written; and a phrase."""
    made = make_archive(tmp_path_factory.mktemp("practice"))
    rows = [
        tihai("t01"),
        tihai("t02", cycle=4, palla="R m P", dam=Fraction(0), start=Fraction(9)),
        tihai("t03", cycle=6, dam=Fraction(2)),
        tihai("t04", cycle=8, palla="", dam=None, start=None),
        phrase(),
    ]
    made.commit(SLUG, [add(row) for row in rows], "test", "played")
    return made


@pytest.fixture(scope="module")
def drawn(archive: Archive) -> ExerciseSet:
    return exercises(archive, WANTED)


def test_questions_are_about_tihais_that_were_played_and_in_their_laya(archive: Archive, drawn: ExerciseSet) -> None:
    played = [each for each in drawn.questions if each.address]
    addresses = [each.address for each in played]
    assert set(addresses) <= {"evening/t01", "evening/t02", "evening/t03"}
    assert len(addresses) == len(set(addresses)) >= 2  # a second question about a tihai would answer the first
    assert {each.per_minute for each in played} == {120}
    assert all(each.origin.endswith("of Evening") for each in played)
    assert [each.address for each in written_in(archive)] == ["evening/t01", "evening/t02", "evening/t03"]


def test_a_tihai_whose_sum_misses_is_only_asked_whether_it_lands(drawn: ExerciseSet) -> None:
    # 5 + 2 + 5 + 2 + 5 = 19 = 16 + 3
    asked = {(each.asked, each.answer) for each in drawn.questions if each.address == "evening/t03"}
    assert asked <= {("miss", Fraction(-2))}


def test_what_the_archive_does_not_have_is_made_up_and_that_is_said(drawn: ExerciseSet) -> None:
    made_up = [each for each in drawn.questions if each.origin == MADE_UP]
    assert len(drawn.questions) == 12
    assert f"{len(made_up)} are made up" in drawn.notes[0]
    assert {each.kind for each in made_up} >= {"chakradar"}
    assert exercises(None, WANTED).notes == ()


def test_the_same_seed_gives_the_same_set_and_another_another(archive: Archive, drawn: ExerciseSet) -> None:
    assert exercises(archive, WANTED) == drawn
    other = exercises(archive, ExerciseWishes(number=12, kinds=tuple(KINDS), seed=4))
    assert other.questions != drawn.questions


def test_no_question_stands_twice_and_every_answer_is_right(drawn: ExerciseSet) -> None:
    assert len({(each.asked, each.piece) for each in drawn.questions}) == 12
    assert all(each.is_right(each.answer) for each in drawn.questions)


def test_by_the_other_rule_the_same_tihais_are_counted_by_it(archive: Archive) -> None:
    made = exercises(archive, ExerciseWishes(rule=LandingRule.AFTER, number=4, kinds=("start",)))
    (first,) = (each for each in made.questions if each.address == "evening/t01")
    assert (first.piece.palla.length, first.piece.dam, first.answer) == (4, 2, 1)
    assert first.piece.paper.sum == "4 + 2 + 4 + 2 + 4 = 16, then sam: 16 + 1 = 17"


def test_pieces_that_are_named_are_asked_about_alone_and_stand_in_a_shuffled_order(archive: Archive) -> None:
    named = pieces(archive, tihais=["evening/t01,t02"], phrases=["evening/p01"])
    orders = set()
    for seed in range(8):
        made = exercises(archive, ExerciseWishes(number=4, kinds=("start", "dam"), seed=seed, level=5), pieces=named)
        assert {each.address for each in made.questions} == {"evening/t01", "evening/t02", ""}
        orders.add(tuple(each.address for each in made.to_play))
    assert len(orders) > 2
    assert {frozenset(order) for order in orders} == {frozenset({"evening/t01", "evening/t02", "evening/p01"})}


def test_a_palla_that_ends_in_a_tihai_is_asked_about_as_a_chakradar(tmp_path: Path) -> None:
    made = make_archive(tmp_path)
    rounds = tihai("t01", palla=CHAKRADAR, dam=Fraction(5), start=Fraction(14))
    made.commit(SLUG, [add(rounds)], "test", "played")
    (written,) = written_in(made)
    piece = written.piece
    assert piece.bol is not None
    assert (piece.bol.length, piece.palla.length, piece.dam, piece.round_dam) == (5, 3, 0, 5)
    assert piece.tihai.length == 3 * 14 + 2 * 5
    (question,) = exercises(made, ExerciseWishes(kinds=("chakradar",), number=1)).questions
    assert (question.address, question.is_right(question.answer)) == ("evening/t01", True)


def test_a_tala_or_raga_that_there_is_not_is_told(archive: Archive) -> None:
    with pytest.raises(UnknownName, match="Teental"):
        exercises(archive, WANTED, tala="teentl")
    with pytest.raises(UnknownName, match="Desh"):
        exercises(archive, WANTED, raga="deshh")


def test_the_page_has_questions_first_and_no_answer_among_them(drawn: ExerciseSet) -> None:
    page = exercises_html(drawn, again="layakosh exercises --seed 3")
    questions, _, answers = page.partition("Answers</p>")
    for each in shown_all(drawn):
        assert each.sentence in questions
        assert each.sum not in questions
        assert each.sum in answers
    assert "In this order" in answers
    assert "--seed 3" in answers
    assert "http" not in page.replace("http://www.w3.org", "")
    assert "<script" not in page
    assert ' style="' not in page


def test_the_page_is_valid_html(drawn: ExerciseSet, tmp_path: Path) -> None:
    # html-validate's recommended rules, after the HTML standard
    command = needs.html_validate()
    (tmp_path / ".htmlvalidate.json").write_text(json.dumps({"root": True, "extends": ["html-validate:recommended"]}))
    (tmp_path / "set.html").write_text(exercises_html(drawn), encoding="utf-8")
    told = subprocess.run([*command, "set.html"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stdout


@pytest.mark.parametrize(("paper", "points"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_the_pdf_is_of_the_paper_that_is_wished_its_text_selectable_and_the_answers_apart(
    drawn: ExerciseSet, paper: str, points: tuple[int, int]
) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pip install -e '.[dev]'")
    pages = pypdf.PdfReader(io.BytesIO(exercises_pdf(drawn, paper=paper))).pages
    assert {(round(page.mediabox.width), round(page.mediabox.height)) for page in pages} == {points}
    texts = [" ".join(page.extract_text().split()) for page in pages]
    first_answers = next(number for number, text in enumerate(texts) if "it lands" in text or "as right" in text)
    sums = [each.sum for each in shown_all(drawn)]
    assert not any(each in text for each in sums for text in texts[:first_answers])
    assert all(any(each in text for text in texts[first_answers:]) for each in sums)
    assert all(f"page {number} of {len(pages)}" in text for number, text in enumerate(texts, 1))
