"""Finding what is like a passage: in a made-up recording of which every note and stroke is known."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from scipy.signal import correlate2d

from ingest.errors import NothingToFind
from ingest.finding.course import Course, Sounding, on_clock, on_grid
from ingest.finding.example import Played, Typed
from ingest.finding.like import Likeness, Wanted, likenesses
from ingest.finding.searched import Searched, Stream, cosines, on_ladder
from ingest.melody import Melody
from ingest.stroke_chances import STROKE_KINDS
from theory.notation import parse

SA_HZ, HOP_S, MATRA_S, MATRAS = 146.83, 0.02, 0.5, 200
DESH = ((0, 2, 4, 5, 7, 9, 10, 11), (0, 2, 5, 7, 11))
PHRASE = (5, 7, 11, 12)  # m P N S'
MELODY = Wanted(by="melody")
PLUCK = STROKE_KINDS.index("pluck")


class Desk:
    """Two hundred matras of half a second: any swaras, any strokes, and what is written over them."""

    def __init__(self, seed: int = 4) -> None:
        rng = np.random.default_rng(seed)
        frames = round((MATRAS + 1) * MATRA_S / HOP_S)
        self.semitone = np.repeat(rng.choice(DESH[0], size=frames // 12 + 1), 12)[:frames].astype(float)
        self.strokes = rng.uniform(0, 0.05, (frames, len(STROKE_KINDS))).astype(np.float32)
        for kind in range(len(STROKE_KINDS)):
            self.strokes[rng.choice(frames, frames // 40, replace=False), kind] = 0.9

    def melody(self, matra: float, semitones: tuple[int, ...], each: float = 0.5) -> None:
        """Write swaras, each so many matras long."""
        self._clear(matra, matra + each * len(semitones), PLUCK)
        for number, semitone in enumerate(semitones):
            begins, ends = (round((matra + each * (number + more)) * MATRA_S / HOP_S) for more in (0, 1))
            self.semitone[begins:ends] = semitone
            self.strokes[begins, PLUCK] = 0.9

    def tabla(self, matra: float, kinds: tuple[int, ...], each: float = 0.25) -> None:
        """Write strokes, each so many matras long."""
        for kind in range(PLUCK):
            self._clear(matra, matra + each * len(kinds), kind)
        for number, kind in enumerate(kinds):
            self.strokes[round((matra + each * number) * MATRA_S / HOP_S), kind] = 0.95

    def _clear(self, begins: float, ends: float, kind: int) -> None:
        self.strokes[round(begins * MATRA_S / HOP_S) : round(ends * MATRA_S / HOP_S), kind] = 0.02

    @property
    def sounding(self) -> Sounding:
        hz = (SA_HZ * 2 ** (self.semitone / 12)).astype(np.float32)
        heard = np.full(len(hz), 0.95, np.float32)
        return Sounding(self.strokes, HOP_S, Melody(HOP_S, hz, heard, heard), SA_HZ)

    @property
    def matra_s(self) -> np.ndarray:
        return np.arange(MATRAS + 1) * MATRA_S

    @property
    def course(self) -> Course:
        return on_grid(self.sounding, self.matra_s, np.arange(MATRAS + 1.0))

    def played(self, matra: float, length: float) -> Played:
        begins_s, ends_s = matra * MATRA_S, (matra + length) * MATRA_S
        return Played(self.sounding, begins_s, ends_s, self.matra_s, np.arange(MATRAS + 1.0))


def where(found: Likeness, course: Course) -> float:
    return course.first + found.first / course.parts


def best_but_itself(desk: Desk, matra: float, length: float, wanted: Wanted = MELODY) -> Likeness:
    found = likenesses(desk.played(matra, length), Searched(desk.course, DESH), wanted, DESH, 5)
    assert where(found[0], desk.course) == pytest.approx(matra, abs=0.1) or wanted.transposed == "only"
    return next(each for each in found if abs(where(each, desk.course) - matra) > 0.5)


def test_a_phrase_is_found_where_it_comes_again_whatever_part_of_the_matra_it_begins_on() -> None:
    desk = Desk()
    desk.melody(20, PHRASE)
    desk.melody(120.25, PHRASE)
    found = best_but_itself(desk, 20, 2)
    assert where(found, desk.course) == pytest.approx(120.25, abs=0.1)
    assert (found.moved, found.ratio) == ("", 1)
    assert found.melody > 0.9


@pytest.mark.parametrize(("moved", "by"), [((10, 12, 16, 17), 5), ((17, 19, 23, 24), 12), ((-7, -5, -1, 0), -12)])
def test_a_phrase_is_found_as_many_semitones_higher_or_lower_as_it_is_played(moved: tuple[int, ...], by: int) -> None:
    desk = Desk()
    desk.melody(20, PHRASE)
    desk.melody(120, moved)
    found = best_but_itself(desk, 20, 2)
    assert where(found, desk.course) == pytest.approx(120, abs=0.1)
    assert (found.moved, found.by) == ("semitones", by)


def test_a_sequence_is_found_that_moves_by_steps_of_the_aroha_though_no_interval_stays_the_same() -> None:
    desk = Desk()
    desk.melody(20, (0, 2, 5, 2, 0, 2))  # S R m R S R
    desk.melody(120, (2, 5, 7, 5, 2, 5))  # R m P m R m
    found = best_but_itself(desk, 20, 3)
    assert where(found, desk.course) == pytest.approx(120, abs=0.1)
    assert (found.moved, found.by) == ("steps", 1)


def test_only_transposed_leaves_out_what_lies_where_it_lay_and_not_transposed_what_lies_elsewhere() -> None:
    desk = Desk()
    desk.melody(20, PHRASE)
    desk.melody(80, PHRASE)
    desk.melody(120, (7, 9, 13, 14))
    only = best_but_itself(desk, 20, 2, Wanted("melody", "only"))
    assert where(only, desk.course) == pytest.approx(120, abs=0.1)
    none = likenesses(desk.played(20, 2), Searched(desk.course, DESH), Wanted("melody", "not"), DESH, 40)
    assert where(none[1], desk.course) == pytest.approx(80, abs=0.1)
    assert {each.moved for each in none if each.by % 12} == set()


@pytest.mark.parametrize(("each", "ratio"), [(0.25, Fraction(1, 2)), (1.0, Fraction(2)), (0.75, Fraction(3, 2))])
def test_a_phrase_is_found_in_half_twice_or_one_and_a_half_times_the_matras(each: float, ratio: Fraction) -> None:
    desk = Desk()
    desk.melody(20, PHRASE * 2)
    desk.melody(120, PHRASE * 2, each)
    found = best_but_itself(desk, 20, 4)
    assert where(found, desk.course) == pytest.approx(120, abs=0.1)
    assert found.ratio == ratio
    same = likenesses(desk.played(20, 4), Searched(desk.course), Wanted("melody", "not", any_laya=False), (), 20)
    assert {each.ratio for each in same} == {1}


def test_strokes_are_found_by_kind_and_rhythm_while_the_melody_goes_on_as_it_likes() -> None:
    desk = Desk()
    word = (0, 5, 2, 1, 5, 5, 2, 0)
    desk.tabla(30, word)
    desk.tabla(130, word)
    for by in ("tabla", "any"):
        found = best_but_itself(desk, 30, 2, Wanted(by=by))  # type: ignore[arg-type]
        assert where(found, desk.course) == pytest.approx(130, abs=0.1)
        assert found.tabla > 0.85
        assert found.moved == ""


def test_both_alike_stands_out_more_than_either_alone() -> None:
    desk = Desk()
    for matra in (20, 120):
        desk.melody(matra, PHRASE)
        desk.tabla(matra, (0, 5, 2, 1, 5, 5, 2, 0))
    desk.melody(160, PHRASE)
    found = likenesses(desk.played(20, 2), Searched(desk.course, DESH), Wanted(), DESH, 5)
    assert [round(where(each, desk.course)) for each in found[:3]] == [20, 120, 160]
    assert found[1].height > found[2].height + 2


def test_what_comes_all_the_time_stands_out_less_than_what_comes_once_more() -> None:
    theka, once = Desk(), Desk()
    for matra in range(0, 200, 4):
        theka.tabla(matra, (0, 2, 2, 0, 0, 3, 3, 0), 0.5)
    once.tabla(20, (0, 2, 2, 0, 0, 3, 3, 0), 0.5)
    once.tabla(120, (0, 2, 2, 0, 0, 3, 3, 0), 0.5)
    wanted = Wanted("tabla", any_laya=False)
    often = likenesses(theka.played(20, 4), Searched(theka.course), wanted, (), 3)[1]
    rare = likenesses(once.played(20, 4), Searched(once.course), wanted, (), 3)[1]
    assert rare.height > 1.5 * often.height


def test_a_passage_is_found_on_the_clock_where_there_is_no_grid_and_slower() -> None:
    desk = Desk()
    desk.melody(20, PHRASE)
    desk.melody(120, PHRASE, 0.5 * 2 ** (1 / 3))
    course = on_clock(desk.sounding, 50.0, 100.0)
    found = likenesses(desk.played(20, 2), Searched(course, DESH), Wanted("melody"), DESH, 3)[0]
    assert where(found, course) == pytest.approx(60, abs=0.1)
    assert found.ratio == pytest.approx(2 ** (1 / 3))
    assert found.moved == ""


def test_a_typed_phrase_is_found_at_whatever_laya_it_is_played() -> None:
    desk = Desk()
    desk.melody(120, PHRASE, 0.5)
    for text, ratio in (("m P N S'", Fraction(1, 2)), ("mP NS'", 1)):
        found = likenesses(Typed(parse(text)), Searched(desk.course), Wanted(transposed="not"), (), 3)[0]
        assert where(found, desk.course) == pytest.approx(120, abs=0.1)
        assert found.ratio == ratio


def test_typed_bols_are_found_as_what_they_do_on_the_drums() -> None:
    desk = Desk()
    rings, dead = STROKE_KINDS.index("bass rings"), STROKE_KINDS.index("dead")
    rim = STROKE_KINDS.index("rim")
    for number, kinds in enumerate(((rings, rim), (dead,), (dead,), (rim,), (rings, rim), (dead,), (dead,), (rim,))):
        for kind in kinds:
            desk.tabla(120 + number * 0.5, (), 0.5)
            desk.strokes[round((120 + number * 0.5) * MATRA_S / HOP_S), kind] = 0.95
    found = likenesses(Typed(parse("DhaTi TeTa DhaTi TeTa")), Searched(desk.course), Wanted(), (), 3)[0]
    assert where(found, desk.course) == pytest.approx(120, abs=0.1)


def test_the_same_place_is_listed_once() -> None:
    desk = Desk()
    desk.melody(20, PHRASE)
    found = likenesses(desk.played(20, 2), Searched(desk.course, DESH), Wanted(), DESH, 40)
    for number, each in enumerate(found):
        for other in found[:number]:
            shared = min(each.first + each.count, other.first + other.count) - max(each.first, other.first)
            assert shared <= 0.5 * min(each.count, other.count)


def test_where_nothing_sounds_nothing_is_found_and_nothing_fails() -> None:
    silent = Sounding(np.zeros((1000, 7), np.float32), HOP_S, None, None)
    course = on_clock(silent, 0.0, 20.0)
    assert likenesses(Played(silent, 2.0, 4.0), Searched(course)) == []
    assert likenesses(Typed(parse("m P N S'")), Searched(course)) == []


def test_a_course_shorter_than_the_passage_holds_nothing_like_it() -> None:
    desk = Desk()
    assert likenesses(desk.played(20, 30), Searched(on_clock(desk.sounding, 0.0, 5.0))) == []


def test_a_phrase_without_a_note_and_a_passage_without_length_are_refused() -> None:
    with pytest.raises(NothingToFind, match="phrase in swaras"):
        Typed(parse("- - |"))
    with pytest.raises(NothingToFind, match="later end"):
        Played(Desk().sounding, 3.0, 3.0)


def test_what_stands_on_no_rung_counts_to_the_one_below() -> None:
    on = on_ladder(np.eye(12, dtype=np.float32), (2, 5, 9))
    assert on.argmax(axis=1).tolist() == [2, 2, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2]


def test_products_by_transforms_are_those_of_a_reference_library_at_every_lag_and_turn() -> None:
    """Held against scipy.signal.correlate2d (SciPy), which sums the products one by one; the rows turned by hand."""
    rng = np.random.default_rng(2)
    rows, passage = rng.random((90, 12), np.float32), rng.random((17, 12), np.float32)
    stream = Stream(rows, 90)
    turned = stream.shared(passage, turned=True)
    wanted = [correlate2d(np.roll(rows, -turn, axis=1), passage, mode="valid")[:, 0] for turn in range(12)]
    np.testing.assert_allclose(turned, wanted, rtol=1e-4)
    np.testing.assert_allclose(stream.shared(passage, turned=False)[0], wanted[0], rtol=1e-4)


def test_a_cosine_is_that_of_the_two_as_vectors() -> None:
    rng = np.random.default_rng(3)
    rows = rng.random((60, 6), np.float32)
    stream = Stream(rows, 64)
    passage = rows[20:31]
    alike = cosines(stream.shared(passage, turned=False), passage, stream)[0]
    assert alike[20] == pytest.approx(1, abs=1e-5)
    own, there = passage.ravel(), rows[5:16].ravel()
    assert alike[5] == pytest.approx(own @ there / np.linalg.norm(own) / np.linalg.norm(there), abs=1e-5)
