"""What the theka leads one to hear, as chances on the two drums."""

import numpy as np
import pytest

from ingest.theka_profile import filling_places, theka_places
from theory.talas import get_tala


def on_matra(tala, number):
    return next(place for place in theka_places(get_tala(tala)) if place.matra == number - 1 and place.share == 0)


def test_khali_is_expected_without_bass():
    assert on_matra("teental", 1).bass > 0.8
    assert on_matra("teental", 10).bass < 0.2
    assert on_matra("teental", 10).treble == on_matra("teental", 1).treble


def test_rupak_begins_without_bass():
    assert on_matra("rupak", 1).bass < 0.2
    assert on_matra("rupak", 4).bass > 0.8


def test_strokes_inside_a_matra_are_less_sure():
    tirakita = [place for place in theka_places(get_tala("ektal")) if place.matra == 3]
    assert [place.share for place in tirakita] == [0, 0.25, 0.5, 0.75]
    assert tirakita[2].treble < tirakita[0].treble or tirakita[2].treble < 0.65


@pytest.mark.parametrize("name", ["teental", "ektal"])
def test_nothing_is_filled_in_where_the_theka_has_a_stroke(name):
    taken = {(place.matra, place.share) for place in theka_places(get_tala(name))}
    assert not taken & {(matra, places.share) for places in filling_places(get_tala(name)) for matra in places.matras}


def test_the_longer_the_matra_the_more_is_filled_in():
    half = filling_places(get_tala("teental"))[0]
    few, some, all_of_it = half.usual(np.array([0.25, 0.5, 2.0]))
    assert (few, all_of_it) == (0, 1)
    assert 0 < some < 1
