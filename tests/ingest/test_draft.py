"""The draft of a notation, from melodies that are written down."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from ingest.draft import Draft, draft
from tests.ingest.heard_melody import SA_HZ, written_melody
from theory.notation import parse
from theory.notation_print import to_text

SURE = 0.95


def _text(drafted: Draft) -> str:
    return to_text(drafted.passage)


def _notes(text: str, part_s: float) -> list[tuple[float, float, float]]:
    """Seconds, cents and voicing of ``S R G m``, one part each; ``_`` is silence."""
    cents = {"S": 0.0, "R": 200.0, "G": 400.0, "m": 500.0, "P": 700.0}
    return [(part_s, cents.get(each, 0.0), 0.0 if each == "_" else SURE) for each in text]


def test_a_draft_lies_on_the_matras_and_is_notation_with_octaves_and_silence() -> None:
    melody = written_melody(
        (2.0, 5.0, SURE),
        (1.0, 210.0, SURE),
        (1.0, 0.0, 0.0),
        (2.0, -210.0, SURE),
        (2.0, 700.0, SURE),
        (2.0, 1190.0, SURE),
    )
    text = _text(draft(melody, SA_HZ, 2 * np.arange(6.0)))
    assert text == "S R_ .n P S'"
    assert parse(text).length == 5
    assert draft(melody, SA_HZ, [1.0]).matras == 0


@pytest.mark.parametrize(
    ("played", "parts", "written"),
    [
        ("SR", 2, "SR"),
        ("SRG", 3, "SRG"),
        ("SRGm", 4, "SRGm"),
        ("SSRR", 4, "SR"),
        ("SSRG", 4, "S-RG"),
        ("SRGmPm", 6, "SRGmPm"),
    ],
)
def test_each_matra_is_divided_as_it_was_played(played: str, parts: int, written: str) -> None:
    drafted = draft(written_melody(*_notes(played, 1.2 / parts)), SA_HZ, [0.0, 1.2])
    assert _text(drafted) == written


def test_the_division_can_be_given() -> None:
    drafted = draft(written_melody(*_notes("SRGm", 0.3)), SA_HZ, [0.0, 1.2], parts=2)
    assert drafted.divisions == (2,)
    assert [each.note.length for each in drafted.notes] == [Fraction(1, 2)] * 2


def test_players_scatter_of_20_ms_leaves_the_division_simple() -> None:
    melody = written_melody((0.58, 0.0, SURE), (0.64, 200.0, SURE), (0.6, 400.0, SURE))
    assert _text(draft(melody, SA_HZ, [0.0, 1.2, 1.8])) == "SR G"


def test_a_swara_is_struck_anew_where_an_onset_makes_the_lead_louder_and_only_there() -> None:
    held = written_melody((2.0, 200.0, SURE), struck_s=(1.0,))
    strokes_s = [0.0, 0.5, 1.0, 1.5]  # the tabla's, but for that at 1.0
    assert _text(draft(held, SA_HZ, [0.0, 0.5, 1.0, 1.5, 2.0], onsets_s=strokes_s)) == "R - R -"
    assert _text(draft(held, SA_HZ, [0.0, 0.5, 1.0, 1.5, 2.0])) == "R - - -"


def test_a_note_that_shares_its_time_with_another_is_doubtful_and_names_it() -> None:
    (note,) = draft(written_melody((0.55, 0.0, SURE), (0.45, 200.0, SURE)), SA_HZ, [0.0, 1.0], parts=1).notes
    assert note.doubtful
    assert (note.note.symbol, note.other) == ("S", "R")
    (sure,) = draft(written_melody((1.0, 0.0, SURE)), SA_HZ, [0.0, 1.0]).notes
    assert not sure.doubtful


def test_a_swara_that_dies_away_is_written_on_for_a_little_and_a_rest_is_a_rest() -> None:
    melody = written_melody((0.3, 0.0, SURE), (0.3, 0.0, 0.1), (0.6, 200.0, SURE), (2.4, 0.0, 0.0), (0.6, 0.0, SURE))
    assert _text(draft(melody, SA_HZ, 0.6 * np.arange(8.0))) == "S R _ _ _ _ S"


@pytest.mark.parametrize(("between", "written"), [(-1200.0, "N S' N"), (1000.0, "N n N"), (0.0, "N S' N")])
def test_a_leap_of_an_octave_and_back_is_an_octave_misheard(between: float, written: str) -> None:
    melody = written_melody((0.6, 1100.0, SURE), (0.6, between, SURE), (0.6, 1100.0, SURE))
    assert _text(draft(melody, SA_HZ, 0.6 * np.arange(4.0))) == written


def test_a_leap_of_an_octave_that_stays_is_left() -> None:
    melody = written_melody((0.6, 1100.0, SURE), (0.6, 0.0, SURE), (0.6, 200.0, SURE))
    assert _text(draft(melody, SA_HZ, 0.6 * np.arange(4.0))) == "N S R"


def test_what_is_passed_between_two_strokes_is_not_written() -> None:
    melody = written_melody((0.56, 0.0, SURE), (0.08, 200.0, SURE), (0.56, 400.0, SURE))
    drafted = draft(melody, SA_HZ, [0.0, 1.2], onsets_s=[0.0, 0.64], parts=16)
    assert [each.note.symbol for each in drafted.notes] == ["S", "G"]


def test_silence_is_an_empty_draft_of_the_same_length() -> None:
    drafted = draft(written_melody((2.0, 0.0, 0.0)), SA_HZ, [0.0, 1.0, 2.0])
    assert drafted.passage.length == 2
    assert drafted.notes == ()
