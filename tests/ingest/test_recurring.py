"""Phrases that come again and again: the chain they are held against, likeness of lines, and what is found."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.finding.chain import surprises
from ingest.finding.like_lines import CLOSED, comings, distance, least_edits
from ingest.finding.notes_heard import NotesHeard, notes_heard
from ingest.finding.recurring import recurring
from tests.ingest.heard_melody import SA_HZ, written_melody

NOTE_S = 0.3
PAKAD = (2, 5, 7, 10, 9, 7)  # R m P n D P
short_lines = st.lists(st.integers(0, 4), max_size=9).map(lambda notes: np.array(notes, np.int64))


def as_heard(line: list[int], breaths: tuple[int, ...] = ()) -> NotesHeard:
    """Notes of 0.3 s, a second of silence before some."""
    start_s = np.arange(len(line)) * NOTE_S + np.array([sum(at <= k for at in breaths) for k in range(len(line))])
    return NotesHeard(np.array(line, np.int64), start_s, start_s + NOTE_S)


def wandering(count: int, seed: int) -> list[int]:
    """A line by step up and down, by chance."""
    rng = np.random.default_rng(seed)
    steps = rng.choice([-2, -1, 1, 2], count, p=(0.15, 0.35, 0.35, 0.15))
    line, at = [], 0
    for step in steps.tolist():
        at = at + step if -8 <= at + step <= 14 else at - step
        line.append(at)
    return line


def with_phrase(phrase: tuple[int, ...], times: int, seed: int = 1) -> tuple[list[int], list[int]]:
    """A wandering line with a phrase in it; where it stands."""
    line: list[int] = []
    places = []
    for number in range(times):
        line += wandering(25, 100 * seed + number)
        if line[-1] == phrase[0]:
            line.pop()
        places.append(len(line))
        line += phrase
        while line[-1] == (line := line + wandering(1, number + 7))[-1]:
            line.pop()
    return line, places


def test_a_phrase_that_comes_six_times_in_a_wandering_line_is_found_with_all_its_places() -> None:
    line, places = with_phrase(PAKAD, 6)
    found = recurring(as_heard(line))
    assert set(PAKAD) <= set(found[0].semitones)
    assert found[0].semitones[: len(PAKAD)] == PAKAD or found[0].semitones[-len(PAKAD) :] == PAKAD
    for place in places:
        assert any(each.first <= place and place + len(PAKAD) <= each.end for each in found[0].comings)
    first = found[0].comings[0]
    assert (first.start_s, first.end_s) == pytest.approx((first.first * NOTE_S, first.end * NOTE_S))


def test_a_wording_with_one_note_changed_belongs_to_the_phrase() -> None:
    line, places = with_phrase(PAKAD, 6)
    line[places[2] + 3] = 11
    found = recurring(as_heard(line))
    changed = [each for each in found[0].comings if each.first <= places[2] < each.end]
    assert [each.edits for each in changed] == [1]


def test_the_same_turn_an_octave_higher_is_another_phrase() -> None:
    low, _ = with_phrase(PAKAD, 5)
    high, _ = with_phrase(tuple(note + 12 for note in PAKAD), 5, seed=2)
    found = recurring(as_heard([*low, *high]))
    holding = [each for each in found if {12 + note for note in PAKAD} <= set(each.semitones)]
    assert holding
    assert all(each.comings[0].first >= len(low) - len(PAKAD) for each in holding)


@pytest.mark.parametrize("seed", range(8))
def test_a_line_by_chance_has_next_to_no_phrases(seed: int) -> None:
    # 600 notes are a quarter of an hour of alap; one in a while comes again by chance
    assert len(recurring(as_heard(wandering(600, seed)))) <= 2


def test_lines_by_chance_have_one_phrase_in_two_of_them_at_most() -> None:
    assert sum(len(recurring(as_heard(wandering(600, seed)))) for seed in range(20)) <= 10


def test_no_phrase_goes_across_a_breath() -> None:
    line = [*PAKAD[:3], *PAKAD[3:]] * 8
    breaths = tuple(at for at in range(3, len(line), 6))
    assert all(len(each.semitones) <= 6 for each in recurring(as_heard(line, breaths)))
    for each in recurring(as_heard(line, breaths)):
        assert each.semitones[:1] == (10,) or len(each.semitones) < 6


def test_what_one_phrase_takes_up_no_other_has() -> None:
    line, _ = with_phrase(PAKAD, 6)
    taken = np.zeros(len(line), int)
    for group in recurring(as_heard(line)):
        for each in group.comings:
            taken[each.first + 1 : each.end - 1] += 1
    assert taken.max() == 1


@pytest.mark.parametrize("line", [[], [0], [0, 2], [0, 2, 4, 5]])
def test_too_short_a_line_has_none(line: list[int]) -> None:
    assert recurring(as_heard(line)) == []


def test_what_usually_follows_surprises_little_and_what_never_did_much() -> None:
    rng = np.random.default_rng(4)
    pairs = rng.integers(0, 5, 200)
    line = np.stack([2 * pairs, 2 * pairs + 1], axis=1).ravel()  # an even number is followed by the next one
    told = surprises(np.append(line, [0, 9]), 10)
    assert np.median(told[1:-2:2]) < 0.3
    assert told[-1] > 2  # as much as one in ten


def test_what_is_said_again_word_for_word_teaches_the_habit_once() -> None:
    line = np.array([*wandering(60, 3), *(PAKAD * 10)]) + 8
    once = np.array([*wandering(60, 3), *(PAKAD * 2)]) + 8
    symbols = int(line.max()) + 1
    many, few = surprises(line, symbols)[66:72].sum(), surprises(once, symbols)[66:72].sum()
    assert many == pytest.approx(few, rel=0.25)  # ten times heard, it is hardly less surprising than twice


def _edits(one: list[int], other: list[int]) -> int:
    """The definition, by recursion."""
    if not one or not other:
        return len(one) + len(other)
    return min(
        _edits(one[1:], other) + 1, _edits(one, other[1:]) + 1, _edits(one[1:], other[1:]) + (one[0] != other[0])
    )  # fmt: skip


@given(st.lists(st.integers(0, 2), max_size=4), st.lists(st.integers(0, 2), max_size=4))
def test_the_distance_is_the_least_number_of_edits(one: list[int], other: list[int]) -> None:
    assert distance(np.array(one, np.int64), np.array(other, np.int64)) == _edits(one, other)


@given(short_lines, short_lines.filter(len))
def test_the_nearest_place_in_a_line_is_its_nearest_stretch(line: np.ndarray, phrase: np.ndarray) -> None:
    stretches = [line[a:b] for a in range(len(line)) for b in range(a + 1, len(line) + 1)]
    expected = min([len(phrase), *(distance(stretch, phrase) for stretch in stretches)])
    assert least_edits(line, phrase) == expected


@given(short_lines, short_lines.filter(lambda notes: len(notes) > 1))
def test_comings_do_not_overlap_and_differ_by_as_many_notes_as_told(line: np.ndarray, phrase: np.ndarray) -> None:
    rows = comings(line, phrase, 1).tolist()
    assert all(before[1] <= after[0] for before, after in itertools.pairwise(rows))
    assert all(distance(line[begin:end], phrase) == edits <= 1 for begin, end, edits in rows)


def test_nothing_comes_across_a_closed_place() -> None:
    line = np.array([1, 2, CLOSED, 3, 4], np.int64)
    assert len(comings(line, np.array([1, 2, 3, 4]), 1)) == 0
    assert comings(line, np.array([3, 4]), 0).tolist() == [[3, 5, 0]]


def test_a_melody_is_read_note_by_note_and_a_long_silence_is_a_breath() -> None:
    melody = written_melody((0.5, 0, 0.9), (0.4, 200, 0.9), (1.5, 0, 0.0), (0.3, 200, 0.9), (0.3, 400, 0.9))
    notes = notes_heard(melody, SA_HZ)
    assert notes.semitone.tolist() == [0, 2, 2, 4]
    assert notes.after_breath.tolist() == [True, False, True, False]
    assert notes.start_s == pytest.approx([0, 0.5, 2.4, 2.7], abs=0.02)


def test_a_swara_struck_again_is_one_note_here() -> None:
    melody = written_melody((0.5, 0, 0.9), (0.1, 0, 0.0), (0.5, 0, 0.9), (0.5, 700, 0.9), struck_s=(0.6,))
    assert notes_heard(melody, SA_HZ, onsets_s=(0.0, 0.6, 1.1)).semitone.tolist() == [0, 7]


def test_silence_has_no_notes() -> None:
    assert len(notes_heard(written_melody((2.0, 0, 0.0)), SA_HZ)) == 0
    assert len(notes_heard(written_melody(), SA_HZ)) == 0
