"""What the theka leads one to hear, as chances on the two drums."""

import numpy as np
import pytest

from ingest.strokes_heard import BAYAN, DAYAN
from ingest.theka_profile import (
    BAYAN_DOES,
    DAYAN_DOES,
    FILLED_PARTS,
    LEVELS,
    fill_strokes,
    filled_places,
    open_side,
    solo_parts,
    theka_places,
)
from theory.talas import all_talas, get_tala


def on_matra(tala, number):
    return next(place for place in theka_places(get_tala(tala)) if place.matra == number - 1 and place.share == 0)


def rings(place):
    return place.bayan[BAYAN.index("rings")]


def test_every_row_of_chances_sums_to_one():
    for chances in (*BAYAN_DOES.values(), *DAYAN_DOES.values(), *fill_strokes()):
        assert chances.sum() == pytest.approx(1.0, abs=1e-9)


def test_khali_is_expected_without_bass():
    assert rings(on_matra("teental", 1)) > 0.8
    assert rings(on_matra("teental", 10)) < 0.2


def test_dhin_is_expected_on_the_sur_and_na_on_the_rim():
    assert DAYAN[on_matra("teental", 2).dayan.argmax()] == "sur"
    assert DAYAN[on_matra("teental", 1).dayan.argmax()] == "rim"


def test_rupak_begins_without_bass():
    assert rings(on_matra("rupak", 1)) < 0.2
    assert rings(on_matra("rupak", 4)) > 0.8


def test_strokes_inside_a_matra_are_less_sure():
    tirakita = [place for place in theka_places(get_tala("ektal")) if place.matra == 3]
    assert [place.share for place in tirakita] == [0, 0.25, 0.5, 0.75]
    assert tirakita[2].kept < tirakita[0].kept


@pytest.mark.parametrize("tala", [tala.key for tala in all_talas() if tala.theka_known])
def test_every_matra_of_every_tala_begins_with_a_place(tala):
    begins = [place.matra for place in theka_places(get_tala(tala)) if place.share == 0]
    assert begins == list(range(get_tala(tala).matras))


def test_the_side_of_the_bayan_follows_tali_and_khali():
    assert open_side(get_tala("teental")).tolist() == [True] * 9 + [False] * 4 + [True] * 3


def test_the_longer_the_matra_the_more_is_filled_in():
    share, level = filled_places(np.array([0.25, 0.5, 2.0]))[0]
    assert share == 0.5
    assert level[0] == 0
    assert 0 < level[1] < level[2] == len(LEVELS)


def test_filled_places_are_the_parts_of_the_matra_each_once():
    shares = [share for share, _ in filled_places(np.array([1.0]))]
    most = max(FILLED_PARTS)
    assert sorted(shares) == [number / most for number in range(1, most)]


def test_a_solo_divides_no_matra_into_strokes_that_no_hand_could_play():
    matra_s = np.array([0.25, 0.6, 5.0])
    parts = solo_parts(matra_s)
    assert set(parts[:, 0]) == {0, 2, 3}
    assert set(parts[:, 1]) == {2, 3, 4} | {0}
    assert set(parts[:, 2]) == {0}
