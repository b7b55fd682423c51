"""Published tihais found again: by solving, by reading their notation, by name; and common practice on the frets.

Every example names its source; what is ours in it is said. All counts are fractions and compared exactly.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.published.test_tihai_examples import (
    AFTER,
    COURTNEY,
    EXAMPLES,
    SITAR_MALIKA,
    TABLALEGACY,
    WITHIN,
    chakradar,
    dhas_on_sam,
    strokes,
)
from theory.conversion import convert
from theory.fingering import on_one_string
from theory.fretboard import Fretboard, parse_tuning
from theory.notation import parse
from theory.paper import check
from theory.recognise import recognise
from theory.solve import solve, starts_and_dams
from theory.solve_chakradar import solve_chakradars
from theory.swaras import letters, semitones_of
from theory.talas import get_tala
from theory.tihai import Tihai, flat

TEENTAL = get_tala("teental")
QUARTER = Fraction(1, 4)


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES)
def test_solving_finds_every_published_tihai(example):
    palla, tala = parse(example.palla), get_tala(example.tala)
    found = solve(
        tala, example.start, example.target, 4, example.rule, dam_most=2, last_stroke=palla.length - palla.last_onset
    )
    assert (palla.length, Fraction(example.dam)) in {(each.palla, each.dam) for each in found}, example.source


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES)
def test_for_the_published_palla_and_dam_the_published_start_is_found(example):
    found = starts_and_dams(get_tala(example.tala), parse(example.palla), example.target, 4, example.rule, dam_most=2)
    assert (example.start, Fraction(example.dam)) in {(each.start, each.dam) for each in found}, example.source


@pytest.mark.parametrize(("palla", "dam", "start"), [(2, 0, 2), (1, 1, 3), (1, 0, 5)])
def test_in_tevra_the_start_is_the_matra_that_the_guide_works_out(palla, dam, start):
    # tablatheka.com, teora tihai guide: start = matras + 1 - total
    (found,) = (
        each for each in starts_and_dams(get_tala("tevra"), parse(strokes(palla)), rule=AFTER) if each.dam == dam
    )
    assert found.start == start


@pytest.mark.parametrize("key", ["ektal", "matta", "matta-18", "dadra"])
def test_no_bedam_tihai_of_whole_matras_runs_from_sam_to_sam_where_three_divides_the_tala(key):
    # tablalegacy.com, tihai: no bedam tihai in a tala whose matras are a multiple of 3 (it names ektal and matta);
    # Courtney, Percussive Notes 32(4): 3 x strokes = matras x layakari + 1. Dadra is ours
    tala = get_tala(key)
    for layakari in (1, 2, 4):
        stroke = Fraction(1, layakari)
        found = solve(tala, 1, subdivision=layakari, palla_most=3 * tala.matras, dam_most=0, last_stroke=stroke)
        assert found == []


def test_a_bedam_tihai_from_sam_to_sam_has_the_strokes_of_the_formula():
    # Courtney, Percussive Notes 32(4): 3 x strokes = matras x layakari + 1; tintal in dugun takes 11 strokes
    half = Fraction(1, 2)
    found = solve(TEENTAL, 1, subdivision=2, dam_most=0, last_stroke=half, cycles_most=1)
    assert [each.palla / half for each in found] == [11], COURTNEY


def test_the_written_out_example_of_a_four_matra_tihai_is_recognised():
    # tablalegacy.com, tihai: dhaSTRKTTK dhaSSSdhaSTR KTTKdhaSSS dhaSTRKTTK | dha, "the phrase is 1 maatra while the
    # pause is 1/2": four matras and the dha that closes each pause. The letters are spelled out as bols by us
    text = "Dha-TiRaKiTaTaKa Dha---Dha-TiRa KiTaTaKaDha--- Dha-TiRaKiTaTaKa | Dha"
    found = recognise(parse(text))
    assert found.passage == parse(text)
    assert (found.before.length, found.after.length) == (0, Fraction(1, 2))  # the last dha rings on
    counted = convert(found.tihai, WITHIN).tihai
    assert (counted.palla.length, counted.dam, counted.length) == (1, Fraction(1, 2), 4), TABLALEGACY
    paper = check(TEENTAL, 13, found.tihai, WITHIN)  # the start is ours
    assert paper.lands
    # by the same page it is bedam: a pause of half a matra or less
    assert "bedam_half" in [kind.key for kind in paper.kinds]


@pytest.mark.parametrize(
    ("name", "made", "kind", "round_dam"),
    [
        ("p. 154: bol 15 + 3 x 4", (15, 3, 1), "sadharan", 0),
        ("pp. 151-156: bol 12 + 3 x 5", (12, 4, 1), "farmaishi", 0),
        ("p. 156: bol 10 + 3 x 9, dam 1", (10, 6, 3, 1), "kamali", 1),
        ("p. 159: bol 10 + 5 x 11, dam 3", (10, 6, 5, 3), "kamali", 3),
    ],
)
def test_the_chakradars_of_the_handbook_are_named_recognised_and_found(name, made, kind, round_dam):
    bol, mukhra, dhas = made[:3]
    tihai = chakradar(*made)
    paper = check(TEENTAL, 1, tihai, WITHIN)
    assert kind in [each.key for each in paper.kinds], (SITAR_MALIKA, name)
    assert {dha.number for dha in paper.hits} == set(dhas_on_sam(TEENTAL, tihai))
    assert recognise(flat(tihai)).tihai == tihai
    phrase = parse(" ".join(["Ti"] * mukhra + ["Dha"] * dhas))
    found = solve_chakradars(TEENTAL, kind=kind, pallas=[phrase], times=tihai.times)
    assert (bol, 0, round_dam) in {(each.bol, each.dam, each.round_dam) for each in found}


def test_the_chakradars_of_the_handbook_played_in_a_row_take_twelve_and_22_cycles():
    # Sitar-Malika (Hindi Wikisource scan), pp. 156 and 159: 5 + 7 = 12 cycles, and with a piece of 10 cycles, whose
    # figures are unreadable and which is therefore taken from the book, 22
    cycles = [check(TEENTAL, 1, chakradar(*made), WITHIN).cycles for made in ((12, 4, 1), (10, 6, 3, 1))]
    assert sum(cycles) == 12
    assert sum(cycles) + 10 == 22


@pytest.mark.parametrize(("start", "dam"), [(1, 2), (3, 1)])
def test_a_dam_filled_with_strokes_changes_no_sum(start, dam):
    # remoscano.com, dictionary of Indian music, Tihai: the gaps of plutatiyugala and atiyugala in chautal are filled;
    # D. Courtney, Percussive Notes 32(4): filling changes no sum. The strokes are ours
    chautal, palla = get_tala("chautal"), parse("Dha Dha Dha")
    filled = Tihai(palla, Fraction(dam), filler=parse(" ".join(["TiTe"] * dam)))
    paper = check(chautal, start, filled, WITHIN)
    assert paper.lands
    assert paper.sum == check(chautal, start, Tihai(palla, Fraction(dam)), WITHIN).sum
    assert "filled" in [kind.key for kind in paper.kinds]


def test_a_nauhakka_is_read_from_its_notation():
    # digitabla.com, common tihai forms (tintal): 9 x 1.75 with 0.25 after the third and the sixth; strokes ours
    nauhakka = Tihai(Tihai(parse("DhaTiTaKa DhaTiDha:3/4")), QUARTER)
    assert recognise(flat(nauhakka)).tihai == nauhakka


def test_an_anagat_tihai_is_named_by_where_it_ends():
    # tablalegacy.com, tihai, and Wikipedia, Tihai: it ends before sam
    paper = check(TEENTAL, 1, Tihai(parse(strokes(4)), Fraction(2)), WITHIN, 16)
    assert "anagat" in [kind.key for kind in paper.kinds]


def test_both_conventions_tell_one_sound_by_the_difference_of_the_last_stroke():
    # the two ways of counting (Courtney within, tablatheka.com after): palla within = palla after + stroke,
    # dam within = dam after - stroke; keherwa from sam is 2 + 1 + 2 + 1 + 2 = 8 after, 3 + 3 + 3 = 9 within
    after = Tihai(parse("Dha Ge"), Fraction(1))
    within = convert(after, AFTER).tihai
    assert (within.palla.length, within.dam) == (3, 0)
    assert check(get_tala("keherwa"), 1, within, WITHIN).sum == "3 + 3 + 3 = 9 = 8 + 1"


@pytest.mark.parametrize(("semitones", "fret"), [(0, 7), (3, 10), (4, 11), (5, 12), (7, 14), (10, 17), (12, 19)])
def test_with_sa_at_fret_seven_the_swaras_lie_at_their_semitones_above_it(semitones, fret):
    # common practice, no source: on a string fretted in semitones, the swara k semitones above Sa is k frets above it
    board = Fretboard(parse_tuning("G,D,A,E"))
    swara = next(each for each in [*letters(), "S'"] if semitones_of(each) == semitones)
    for string in board.playable:
        (place,) = on_one_string(board, board.pitch(string, 7), [swara], string)
        assert place.fret == fret
