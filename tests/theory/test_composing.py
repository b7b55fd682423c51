"""Composing: what is found lands, is called what was asked for, and where nothing is found the nearest change is."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.theory.strategies import bol_passages, matra_of, talas
from theory.composing import MOST_FOUND, PLAIN_KINDS, ROUND_KINDS, Wanted, find, offers, said_of
from theory.errors import BadTihai
from theory.filler import filler
from theory.notation import parse
from theory.notation_print import to_text
from theory.talas import get_tala
from theory.tihai import LandingRule, landing_offset

TEENTAL = get_tala("teental")


def test_the_gapless_and_the_damdar_tihai_from_sam_to_sam_are_found_with_the_sum_as_taught() -> None:
    found = {piece.paper.sum for piece in find(Wanted(TEENTAL, subdivision=2))}
    assert "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1" in found  # Courtney, The Cadenza in North Indian Tabla (1994)
    assert "5 1/2 + 5 1/2 + 5 1/2 = 16 1/2 = 16 + 1/2" in found


def test_the_farmaishi_chakradar_of_the_handbook_is_found_first() -> None:
    first = find(Wanted(TEENTAL, kind="farmaishi"))[0]
    assert said_of(first) == "bol 12, palla 5, no dam, no dam between rounds"  # 27 x 3 = 81, Sitar-Malika p. 154
    assert "farmaishi" in {kind.key for kind in first.kinds}


@given(data=st.data())
@settings(max_examples=120, deadline=None)
def test_every_piece_lands_by_the_tihai_itself_and_keeps_the_limits(data: st.DataObject) -> None:
    tala = data.draw(talas)
    wanted = Wanted(
        tala,
        start=data.draw(matra_of(tala)),
        target=data.draw(st.sampled_from((Fraction(1), Fraction(tala.matras), Fraction(5, 2)))),
        rule=data.draw(st.sampled_from(LandingRule)),
        kind=data.draw(st.sampled_from(("", *PLAIN_KINDS, *ROUND_KINDS))),
        subdivision=data.draw(st.sampled_from((1, 2))),
        palla=data.draw(st.none() | bol_passages()),
        dam_most=data.draw(st.none() | st.sampled_from((Fraction(0), Fraction(3)))),
        cycles_most=data.draw(st.none() | st.integers(0, 4)),
        syllables=data.draw(st.sampled_from(("bols", "sargam"))),
    )
    for piece in find(wanted)[:40]:
        assert (piece.start + landing_offset(piece.tihai, piece.rule) - piece.target) % tala.matras == 0
        assert piece.paper.lands
        assert piece.start == wanted.start
        assert wanted.dam_most is None or piece.dam <= wanted.dam_most
        assert wanted.cycles_most is None or piece.paper.cycles <= wanted.cycles_most
        assert wanted.palla is None or piece.palla == wanted.palla
        assert not wanted.kind or wanted.kind in {kind.key for kind in piece.kinds}


@given(st.integers(1, 40), st.sampled_from((1, 2, 3, 4)), st.integers(1, 3), st.sampled_from(("bols", "sargam")))
def test_a_filler_is_as_long_as_asked_and_closes_with_equal_strokes(parts, grid, closing, syllables) -> None:
    length, last = Fraction(parts, grid) + closing, Fraction(1)
    palla = filler(length, last, syllables, closing)
    assert palla.length == length
    assert [note.length for note in palla.notes[-closing:]] == [last] * closing
    assert len({note.symbol for note in palla.notes[-closing:]}) == 1
    assert parse(to_text(palla)) == palla


def test_a_filler_without_room_is_refused() -> None:
    with pytest.raises(BadTihai, match="no room for 3 closing strokes"):
        filler(Fraction(2), Fraction(1), closing=3)


def test_where_nothing_lands_the_nearest_start_is_offered_and_lands() -> None:
    wanted = Wanted(TEENTAL, kind="bedam", palla_least=Fraction(7), palla_most=Fraction(7))
    assert find(wanted) == ()
    first = offers(wanted)[0]
    assert (first.words, first.count) == ("from matra 13, 4 matras earlier", 1)
    assert all(len(find(offer.wanted)) == offer.count > 0 for offer in offers(wanted))


def test_with_a_written_palla_any_start_may_be_asked_for_and_without_one_not() -> None:
    palla = parse("Dha Ti Ta Ka Dha")
    found = find(Wanted(TEENTAL, start=None, palla=palla))
    assert {piece.start for piece in found} >= {1, 9}
    with pytest.raises(BadTihai, match="write the palla"):
        find(Wanted(TEENTAL, start=None))


def test_limits_that_contradict_each_other_are_refused_in_words() -> None:
    with pytest.raises(BadTihai, match="at least 3 matras and at most 2 matras"):
        find(Wanted(TEENTAL, dam_least=Fraction(3), dam_most=Fraction(2)))
    with pytest.raises(BadTihai, match="parts down to 1/4"):
        find(Wanted(TEENTAL, kind="kamali", subdivision=8))


def test_however_much_is_wanted_the_answer_is_bounded() -> None:
    wide = Wanted(TEENTAL, subdivision=8, palla_most=Fraction(128), dam_most=Fraction(128))
    assert len(find(wide)) == MOST_FOUND
    with pytest.raises(BadTihai, match="more than is searched at once"):
        find(replace(wide, kind="chakradar", subdivision=4))


def test_a_longer_dam_or_another_rule_is_offered_where_that_would_do() -> None:
    wanted = Wanted(TEENTAL, start=Fraction(5), palla=parse("Dha Ti Ta"), dam_most=Fraction(0))
    assert [offer.words for offer in offers(wanted)][:2] == [
        "from matra 9, 4 matras later",
        "with any dam up to an avartan",
    ]
    assert find(replace(wanted, dam_most=Fraction(16)))
