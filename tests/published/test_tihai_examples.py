"""Worked tihais of published sources: our arithmetic must come to the figures they print.

Every example names its source. Where a source gives only lengths, the strokes are ours (one to a matra); where it gives
only a total, the split is ours and the row says so. Positions count matras from the sam of the first cycle = 1.
The comparison is exact: all counts are fractions.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import pytest

from theory.laya import start_to_end_on_sam
from theory.notation import Passage, parse
from theory.paper import check, palla_positions
from theory.talas import Tala, get_tala, read_tala
from theory.tihai import Chain, LandingRule, Tihai, flat

WITHIN, AFTER = LandingRule.WITHIN, LandingRule.AFTER

COURTNEY = "D. Courtney, The Cadenza in North Indian Tabla, Percussive Notes 32(4), August 1994, pp. 54-64"
DIGITABLA = "digitabla.com, common tihai forms (overview, tintal)"
KEHERWA = "tablatheka.com, keherwa tihai guide"
TEORA = "tablatheka.com, teora tihai guide"
TABLALEGACY = "tablalegacy.com, tihai; chakradaar"
DICTIONARY = "remoscano.com, dictionary of Indian music, Tihai"
WIKIPEDIA = "Wikipedia, Tihai"
WIKIPEDIA_MIRROR = "Wikipedia, Tihai (mirror w.owiki.org)"
CHAKRADAR_RULE = "soulofrythms.in, Rule for three cycle chakardar"
SITAR_MALIKA = "Sitar-Malika (Hindi Wikisource scan)"


@dataclass(frozen=True)
class Example:
    """One worked tihai: what the source gives, and where by its figures the landing comes."""

    source: str
    tala: str
    start: int
    palla: str
    dam: str
    rule: LandingRule
    total: str
    lands_at: int
    sum: str
    target: int = 1


def strokes(count: int) -> str:
    """Return a palla of so many matras, a stroke on each."""
    return " ".join(["Dha"] * count)


EXAMPLES = {
    "tintal_with_a_dam": Example(
        DIGITABLA, "teental", 1, strokes(5), "1", WITHIN, "17", 17, "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1"
    ),
    "tintal_without_a_dam_last_dha_half_a_matra": Example(
        DIGITABLA, "teental", 1, f"{strokes(5)} Dha:1/2", "0", WITHIN, "33/2", 17,
        "5 1/2 + 5 1/2 + 5 1/2 = 16 1/2 = 16 + 1/2",
    ),
    "tintal_eleven_strokes_in_dugun": Example(  # the source counts strokes: 3 x 11 = 33 = 16 x 2 + 1
        COURTNEY, "teental", 1, "DhaDha DhaDha DhaDha DhaDha DhaDha Dha:1/2", "0", WITHIN, "33/2", 17,
        "5 1/2 + 5 1/2 + 5 1/2 = 16 1/2 = 16 + 1/2",
    ),
    "jhaptal_nine_strokes_and_seven_units_in_chaugun": Example(  # in strokes: 27 + 14 = 41 = 10 x 4 + 1
        COURTNEY, "jhaptal", 1, "DhaDhaDhaDha DhaDhaDhaDha Dha:1/4", "7/4", WITHIN, "41/4", 11,
        "2 1/4 + 1 3/4 + 2 1/4 + 1 3/4 + 2 1/4 = 10 1/4 = 10 + 1/4",
    ),
    "keherwa_from_sam": Example(
        KEHERWA, "keherwa", 1, "Dha Ge", "1", AFTER, "8", 9, "2 + 1 + 2 + 1 + 2 = 8, then sam: 8 + 1 = 9"
    ),
    "keherwa_from_the_third_matra": Example(
        KEHERWA, "keherwa", 3, "Dha Ge", "0", AFTER, "6", 9,
        "2 + 2 + 2 = 6; from matra 3: 2 + 6 = 8, then sam: 8 + 1 = 9",
    ),
    "keherwa_from_khali": Example(  # the page gives the 4 matras and its gap rule, the split follows from them
        KEHERWA, "keherwa", 5, "Dha", "1/2", AFTER, "4", 9,
        "1 + 1/2 + 1 + 1/2 + 1 = 4; from matra 5: 4 + 4 = 8, then sam: 8 + 1 = 9",
    ),
    "tevra_from_the_second_matra": Example(
        TEORA, "tevra", 2, "Dha Ge", "0", AFTER, "6", 8, "2 + 2 + 2 = 6; from matra 2: 1 + 6 = 7, then sam: 7 + 1 = 8"
    ),
    "tevra_from_the_third_matra": Example(
        TEORA, "tevra", 3, "Dha", "1", AFTER, "5", 8,
        "1 + 1 + 1 + 1 + 1 = 5; from matra 3: 2 + 5 = 7, then sam: 7 + 1 = 8",
    ),
    "tevra_from_the_fifth_matra": Example(
        TEORA, "tevra", 5, "Dha", "0", AFTER, "3", 8, "1 + 1 + 1 = 3; from matra 5: 4 + 3 = 7, then sam: 7 + 1 = 8"
    ),
    "tintal_short_tiyya_of_eight_strokes": Example(  # the source gives phrase and gap; the start in tintal is ours
        TABLALEGACY, "teental", 13, "DhaDhaDhaDhaDhaDhaDhaDha", "1/2", AFTER, "4", 17,
        "1 + 1/2 + 1 + 1/2 + 1 = 4; from matra 13: 12 + 4 = 16, then sam: 16 + 1 = 17",
    ),
    "chautal_plutatiyugala": Example(
        DICTIONARY, "chautal", 1, strokes(3), "2", WITHIN, "13", 13, "3 + 2 + 3 + 2 + 3 = 13 = 12 + 1"
    ),
    "chautal_atiyugala": Example(
        DICTIONARY, "chautal", 3, strokes(3), "1", WITHIN, "11", 13,
        "3 + 1 + 3 + 1 + 3 = 11; from matra 3: 2 + 11 = 13 = 12 + 1",
    ),
    "chautal_yugala": Example(
        DICTIONARY, "chautal", 5, strokes(3), "0", WITHIN, "9", 13, "3 + 3 + 3 = 9; from matra 5: 4 + 9 = 13 = 12 + 1"
    ),
    "chautal_ghatiyugala": Example(  # the source counts the dha of sam too, so it calls this one 7
        DICTIONARY, "chautal", 7, strokes(2), "0", AFTER, "6", 13,
        "2 + 2 + 2 = 6; from matra 7: 6 + 6 = 12, then sam: 12 + 1 = 13",
    ),
    "tintal_anagat_ends_one_matra_before_sam": Example(
        WIKIPEDIA, "teental", 1, strokes(4), "2", WITHIN, "16", 16, "4 + 2 + 4 + 2 + 4 = 16", target=16
    ),
    "jhaptal_in_two_cycles": Example(  # the source writes 6 1 6 1 6 1: its last 1 is sam
        WIKIPEDIA_MIRROR, "jhaptal", 1, strokes(6), "1", AFTER, "20", 21,
        "6 + 1 + 6 + 1 + 6 = 20 = 2 x 10, then sam: 20 + 1 = 21",
    ),
    "jhaptal_simple_chakradar": Example(
        CHAKRADAR_RULE, "jhaptal", 1, strokes(9), "2", WITHIN, "31", 31, "9 + 2 + 9 + 2 + 9 = 31 = 3 x 10 + 1"
    ),
    "tintal_sadharan_chakradar_round_of_eleven": Example(
        f"{SITAR_MALIKA}, p. 154", "teental", 1, strokes(11), "0", WITHIN, "33", 33, "11 + 11 + 11 = 33 = 2 x 16 + 1"
    ),
}  # fmt: skip


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES)
def test_a_published_tihai_comes_to_the_figures_of_its_source(example):
    tihai = Tihai(parse(example.palla), Fraction(example.dam))
    paper = check(get_tala(example.tala), example.start, tihai, example.rule, example.target)
    assert paper.lands, example.source
    assert paper.total == Fraction(example.total), example.source
    assert palla_positions(paper)[1] == example.lands_at, example.source
    assert paper.sum == example.sum


def test_the_pallas_of_the_gapless_tintal_tihai_begin_on_1_and_6_and_a_half_and_12():
    # digitabla.com, common tihai forms (tintal); the same rule in Sitar-Malika (Hindi Wikisource scan), p. 142
    tihai = Tihai(parse(f"{strokes(5)} Dha:1/2"))
    pallas, landing = palla_positions(check(get_tala("teental"), 1, tihai, WITHIN))
    assert pallas == (1, Fraction(13, 2), 12)
    assert landing == 17


def test_a_nauhakka_of_one_and_three_quarters_fills_one_cycle_of_tintal():
    # digitabla.com, common tihai forms (tintal): nine statements of 1.75, 0.25 after the third and the sixth:
    # 15.75 + 0.5 = 16.25, or 65 quarters
    statement = parse("DhaTiTaKa DhaTiDha:3/4")
    paper = check(get_tala("teental"), 1, Tihai(Tihai(statement), Fraction(1, 4)), WITHIN)
    assert paper.lands
    assert paper.kind == "nauhakka"
    assert paper.total == Fraction(65, 4)
    assert paper.sum == "5 1/4 + 1/4 + 5 1/4 + 1/4 + 5 1/4 = 16 1/4 = 16 + 1/4"


@pytest.mark.parametrize("matras", range(5, 17))
def test_a_round_of_one_less_than_the_tala_with_a_dam_of_two_reaches_sam_after_three_cycles(matras):
    # soulofrythms.in, Rule for three cycle chakardar: stated for talas of 5 to 16 matras
    paper = check(bare_tala(matras), 1, Tihai(parse(strokes(matras - 1)), Fraction(2)), WITHIN)
    assert paper.lands
    assert (paper.total, paper.cycles) == (3 * matras + 1, 3)


def test_a_sadharan_chakradar_meets_sam_with_its_last_dha_only():
    # Sitar-Malika (Hindi Wikisource scan), p. 154: bol 15 + 3 x 4 = 27, three times
    paper = check(get_tala("teental"), 1, chakradar(bol=15, mukhra=3, dhas=1), WITHIN)
    assert paper.lands
    assert dhas_on_sam(get_tala("teental"), paper.tihai) == {9: 81}


def test_a_farmaishi_chakradar_meets_sam_with_the_first_second_and_third_dha_of_its_rounds():
    # Sitar-Malika (Hindi Wikisource scan), pp. 151-156: bol 12 + 3 x (4 + 1) = 27; dhas 1, 5 and 9 on 17, 49 and 81
    paper = check(get_tala("teental"), 1, chakradar(bol=12, mukhra=4, dhas=1), WITHIN)
    assert paper.lands
    assert paper.kind == "chakradar"
    assert (paper.total, paper.cycles) == (81, 5)
    assert paper.sum == "27 + 27 + 27 = 81 = 5 x 16 + 1"
    assert dhas_on_sam(get_tala("teental"), paper.tihai) == {1: 17, 5: 49, 9: 81}


def test_a_kamali_chakradar_of_three_dhas_takes_seven_cycles():
    # Sitar-Malika (Hindi Wikisource scan), p. 156, states 7 cycles; bol 10, mukhra 6 and dam 1 are read from damaged
    # text. tablalegacy.com, chakradaar: of its 27 dhas, nos. 1, 14 and 27 meet sam
    paper = check(get_tala("teental"), 1, chakradar(bol=10, mukhra=6, dhas=3, dam=1), WITHIN)
    assert paper.lands
    assert (paper.total, paper.cycles) == (113, 7)
    hits = dhas_on_sam(get_tala("teental"), paper.tihai)
    assert {number: hits[number] for number in (1, 14, 27)} == {1: 17, 14: 65, 27: 113}


def test_the_kamali_of_five_dhas_takes_21_cycles_where_the_book_prints_20():
    # Sitar-Malika (Hindi Wikisource scan), p. 159: bol 10 + 5 x (6 + 5) = 65, dam 3, five rounds. The book says
    # 20 cycles; by its own figures it is 5 x 68 - 3 = 337 = 21 x 16 + 1, and 20 would need a dam of -1
    paper = check(get_tala("teental"), 1, chakradar(bol=10, mukhra=6, dhas=5, dam=3), WITHIN)
    assert paper.lands
    assert (paper.total, paper.cycles) == (337, 21)
    assert paper.sum == "65 + 3 + 65 + 3 + 65 + 3 + 65 + 3 + 65 = 337 = 21 x 16 + 1"
    hits = dhas_on_sam(get_tala("teental"), paper.tihai)
    kth_of_kth_of_kth = [25 * k + 5 * k + k + 1 for k in range(5)]
    assert [hits[number] for number in kth_of_kth_of_kth] == [17, 97, 177, 257, 337]
    assert len(hits) == 5 + 4  # four further dhas also meet sam


def test_a_two_cycle_tiya_of_nines_ends_with_a_short_tihai_on_sam():
    # Sitar-Malika (Hindi Wikisource scan), p. 149: 9 x 3 = 27, then a tihai of 6 matras to 33; 2 to a palla is ours
    tiya = Chain((Tihai(parse(strokes(9))), Tihai(parse(strokes(2)))))
    assert tiya.length == 33
    assert tiya.last_onset % 16 == 0


@pytest.mark.parametrize("tala", ["teental", "jhaptal"])
def test_a_chakradar_of_eighty_matras_fits_tintal_and_jhaptal(tala):
    # tablalegacy.com, chakradaar: 80 = 5 x 16 = 8 x 10; the split into rounds of 26 and dams of 1 is ours
    paper = check(get_tala(tala), 1, Tihai(parse(strokes(26)), Fraction(1)), AFTER)
    assert paper.lands
    assert paper.total == 80


@pytest.mark.parametrize(
    ("tala", "ratio", "start"), [("jhaptal", 3, "23/3"), ("jhaptal", 4, "17/2"), ("chautal", 2, "7")]
)
def test_one_cycle_played_faster_begins_where_it_will_end_on_sam(tala, ratio, start):
    # How to make layakari, pparihar.com, 21 May 2016: tigun of jhaptal takes 3 1/3, chaugun 2 1/2, dugun of chautal 6
    assert start_to_end_on_sam(get_tala(tala), Fraction(ratio)) == Fraction(start)


def test_half_a_matra_taken_from_a_published_dam_is_found_and_given_back():
    # digitabla.com, common tihai forms (tintal), the dam of 1 shortened by us
    paper = check(get_tala("teental"), 1, Tihai(parse(strokes(5)), Fraction(1, 2)), WITHIN)
    assert paper.shortfall == 1
    assert next(mend.new for mend in paper.mends if mend.change == "dam") == 1


def chakradar(bol: int, mukhra: int, dhas: int, dam: int = 0) -> Tihai:
    """Return a chakradar: a bol, then phrases of a mukhra and some dhas; as many phrases and rounds as dhas (or 3)."""
    times = 3 if dhas == 1 else dhas
    phrase = parse(" ".join(["Ti"] * mukhra + ["Dha"] * dhas))
    return Tihai(Chain((parse(" ".join(["Ti"] * bol)), Tihai(phrase, times=times))), Fraction(dam), times)


def dhas_on_sam(tala: Tala, tihai: Tihai) -> dict[int, int]:
    """Return which dhas fall on sam, by number from 1, and at which position, when it begins on sam."""
    written: Passage = flat(tihai)
    dhas = [note.onset for note in written.notes if note.symbol == "Dha"]
    return {number: int(onset) + 1 for number, onset in enumerate(dhas, 1) if onset % tala.matras == 0}


def bare_tala(matras: int) -> Tala:
    """Return a tala of so many matras, one vibhag, for a rule stated for any tala."""
    theka = strokes(matras)
    row = {"key": "bare", "name": "Bare", "matras": matras, "vibhags": [matras], "marks": "X@1", "theka": theka}
    return read_tala({**row, "source": "from memory"})
