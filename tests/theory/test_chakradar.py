"""Chakradars: which dhas meet sam, their kinds, and finding them."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from theory.chakradar import chakradar_kind, closing_onsets, dhas_of, hits
from theory.errors import BadTihai
from theory.notation import parse
from theory.solve_chakradar import phrase, solve_chakradars
from theory.talas import all_talas, get_tala
from theory.tihai import Chain, LandingRule, Tihai

WITHIN, AFTER = LandingRule.WITHIN, LandingRule.AFTER
TEENTAL = get_tala("teental")


def test_the_dhas_of_a_phrase_are_the_equal_strokes_at_its_end():
    assert closing_onsets(parse("Dha Ti Dha Dha")) == (2, 3)
    assert closing_onsets(parse("G m P")) == (2,)


def test_every_dha_has_its_round_phrase_number_and_position():
    chakradar = Tihai(Chain((parse("Ti:12"), Tihai(parse("Ti:4 Dha")))))
    dhas = dhas_of(chakradar, WITHIN)
    assert len(dhas) == 9
    assert [(dha.round, dha.phrase, dha.position) for dha in hits(TEENTAL, dhas)] == [
        (1, 1, 17), (2, 2, 49), (3, 3, 81),
    ]  # fmt: skip


def test_counted_after_the_dha_is_the_stroke_that_follows_the_phrase():
    chakradar = Tihai(Chain((parse("Ti:12"), Tihai(parse("Ti:4"), Fraction(1)))), Fraction(1))
    dhas = dhas_of(chakradar, AFTER)
    assert [dha.position for dha in hits(TEENTAL, dhas)] == [17, 49, 81]
    assert chakradar_kind(TEENTAL, dhas) == "farmaishi"


def test_a_plain_tihai_has_no_rounds_to_tell_of():
    assert dhas_of(Tihai(parse("Dha Ti Dha")), WITHIN) == ()


@given(
    st.sampled_from([tala for tala in all_talas() if tala.matras <= 18]),
    st.sampled_from((None, "farmaishi", "kamali")),
    st.sampled_from((1, 2)),
)
def test_every_chakradar_found_lands_and_is_of_its_kind_stroke_by_stroke(tala, kind, subdivision):
    found = solve_chakradars(tala, 1, 1, subdivision, kind=kind, dam_most=1, round_dam_most=2)
    assert found
    for each in found[:12]:
        assert each.paper.lands
        assert each.cycles == each.paper.cycles
        assert each.kind == chakradar_kind(tala, dhas_of(each.tihai, WITHIN))
        assert kind in (None, each.kind)


def test_none_is_missing_in_a_small_tala():
    dadra = get_tala("dadra")
    found = {
        (each.bol, each.palla.length, each.dam, each.round_dam)
        for each in solve_chakradars(dadra, dam_most=1, round_dam_most=3)
    }
    brute_force = {
        (bol, palla, dam, between)
        for bol in range(7)
        for palla in range(1, 4)
        for dam in range(2)
        for between in range(4)
        if (3 * (bol + 3 * palla + 2 * dam) + 2 * between - 1) % 6 == 0
    }
    assert found == brute_force


@pytest.mark.parametrize(("kind", "closing"), [("farmaishi", 0), ("kamali", 1)])
@pytest.mark.parametrize("key", ["teental", "jhaptal", "rupak", "ektal"])
def test_bol_and_mukhra_fill_whole_cycles_and_so_do_a_round_and_a_phrase(key, kind, closing):
    # own derivation: bol + mukhra, and round + dam + phrase (one more for kamali), are multiples of the tala
    tala = get_tala(key)
    for each in solve_chakradars(tala, kind=kind, dam_most=0):
        mukhra = closing_onsets(each.palla)[0]
        round_and_dam = each.bol + 3 * each.palla.length + each.round_dam
        assert (each.bol + mukhra) % tala.matras == 0
        assert (round_and_dam + each.palla.length + closing) % tala.matras == 0


def test_a_given_palla_is_made_into_a_farmaishi():
    best = solve_chakradars(TEENTAL, kind="farmaishi", pallas=[parse("Ti Ra Ki Ta Dha")])[0]
    assert (best.bol, best.dam, best.round_dam) == (12, 0, 0)
    assert best.sentence == (
        "farmaishi: A bol of 12 matras, then a palla of 5 matras 3 times; no dam between rounds: "
        "27 + 27 + 27 = 81 = 5 x 16 + 1"
    )


@pytest.mark.parametrize(
    ("ask", "why"),
    [
        (lambda: solve_chakradars(TEENTAL, kind="grand"), "'grand' is no kind of chakradar"),
        (lambda: solve_chakradars(TEENTAL, subdivision=16, dam_most=16), "chakradars to try"),
        (lambda: solve_chakradars(TEENTAL, dam_most=-1), "not negative"),
        (lambda: phrase(Fraction(2), 3), "no room for 3 dhas"),
    ],
)
def test_a_question_that_makes_no_sense_is_refused(ask, why):
    with pytest.raises(BadTihai, match=why):
        ask()
