"""A lehra of ours keeps to the raga's own rules in every tala, and marks sam with one strong swara."""

from itertools import pairwise

import pytest

from theory.lehra import lehra
from theory.raga_check import check_phrase
from theory.ragas import all_ragas, raga_variants
from theory.swaras import split_symbol
from theory.talas import all_talas, get_tala

WITH_VARIANTS = [each for raga in all_ragas() for each in (raga, *raga_variants(raga))]


@pytest.mark.parametrize("raga", WITH_VARIANTS, ids=lambda raga: raga.key)
def test_a_lehra_is_usual_in_its_raga_however_often_it_goes_round(raga):
    for tala in map(get_tala, ("dadra", "rupak", "jhaptal", "teental")):
        symbols = lehra(raga, tala).symbols
        assert check_phrase(raga, " ".join(symbols * 3)) == ()


@pytest.mark.parametrize("tala", all_talas(), ids=lambda tala: tala.key)
def test_a_lehra_fills_the_avartan_without_a_gap_and_sam_has_the_vadi_alone(tala):
    for raga in all_ragas():
        notes = lehra(raga, tala).notes
        assert notes[0].onset == 0
        assert notes[0].length >= 1
        assert all(left.end == right.onset for left, right in pairwise(notes))
        assert notes[-1].end == lehra(raga, tala).length == tala.matras
        assert not raga.vadi or split_symbol(notes[0].symbol)[0].letter == raga.vadi


def test_vibhags_begin_with_a_swara_of_their_own_where_there_are_enough():
    for raga in all_ragas():
        onsets = {note.onset for note in lehra(raga, get_tala("teental")).notes}
        assert {0, 4, 8, 12} <= onsets
