"""What is written down of the sample performances: tihai arithmetic and the grammar of the ragas.

The rules of the ragas are those of the usual handbooks (Desh: Ga and Dha only in descent, shuddha Ni up and komal ni
down; Bageshri: no Pa here, Re only in descent): common practice, no single source.
"""

from fractions import Fraction

import pytest

from sample_data.bageshri import BAGESHRI
from sample_data.desh import DESH
from sample_data.playing import position_of
from sample_data.score import Performance, PlannedTihai
from theory.notation import parse
from theory.paper import PaperCheck, check
from theory.swaras import semitones_of
from theory.talas import get_tala
from theory.tihai import LandingRule, Tihai

BOTH = pytest.mark.parametrize("performance", [DESH, BAGESHRI], ids=lambda performance: performance.name)


def on_paper(performance: Performance, plan: PlannedTihai) -> PaperCheck:
    tihai = Tihai(palla=plan.passage, dam=plan.dam)
    return check(get_tala(performance.tala), plan.matra, tihai, plan.rule, plan.target)


def every_line(performance: Performance) -> list[str]:
    lines = [line.swaras for line in performance.lines]
    return lines + [free.swaras for free in performance.alap] + sargam_pallas(performance)


def sargam_pallas(performance: Performance) -> list[str]:
    return [plan.palla for plan in performance.tihais if plan.played_by != "tabla"]


@BOTH
def test_every_tihai_lands_on_paper_but_the_intended_one(performance):
    astray = [plan for plan in performance.tihais if not on_paper(performance, plan).lands]
    expected = [plan for plan in performance.tihais if plan.verdict == "misses"]
    assert astray == expected
    assert len(astray) == (1 if performance is DESH else 0)


def test_the_intended_miss_is_half_a_matra_short():
    (plan,) = [plan for plan in DESH.tihais if plan.verdict == "misses"]
    paper = on_paper(DESH, plan)
    assert paper.landing_matra == Fraction(33, 2)
    assert paper.shortfall == Fraction(1, 2)


@BOTH
def test_the_offset_used_for_playing_is_the_one_of_theory(performance):
    for plan in performance.tihais:
        start = position_of(get_tala(performance.tala), plan.cycle, plan.matra)
        landing = start + plan.landing_offset
        assert landing % get_tala(performance.tala).matras + 1 == on_paper(performance, plan).landing_matra


def test_the_tihais_are_of_every_kind_that_the_demo_shows():
    tihais = (*DESH.tihais, *BAGESHRI.tihais)
    assert len(DESH.tihais) >= 5
    assert len(BAGESHRI.tihais) >= 4
    for performance in (DESH, BAGESHRI):
        assert {plan.played_by for plan in performance.tihais} == {"mandolin", "tabla", "both"}
        assert {plan.dam > 0 for plan in performance.tihais} == {True, False}
        assert any(plan.target != 1 for plan in performance.tihais)
        assert any(plan.rule is LandingRule.AFTER for plan in performance.tihais)
    assert any(plan.dam == 0 and plan.passage.length == Fraction(11, 2) for plan in tihais)
    assert sorted(plan.late_ms for plan in tihais if plan.late_ms) == [60.0, 200.0]


@BOTH
def test_a_tihai_aimed_at_the_mukhra_meets_its_first_swara(performance):
    for plan in performance.tihais:
        if plan.target != 1:
            (mukhra,) = {line.swaras for line in performance.lines if line.role == "mukhra"}
            assert {line.matra for line in performance.lines if line.role == "mukhra"} == {plan.target}
            assert parse(mukhra).symbols[0] == plan.passage.symbols[-1]


@BOTH
def test_lines_keep_to_the_vibhags(performance):
    tala = get_tala(performance.tala)
    for line in performance.lines:
        passage = parse(line.swaras, tala, Fraction(line.matra))
        assert line.matra - 1 + passage.length <= tala.matras


@BOTH
def test_lines_do_not_overlap_and_tihais_start_where_a_line_has_ended(performance):
    tala = get_tala(performance.tala)
    free_from = Fraction(-1000)
    for line in sorted(performance.lines, key=lambda line: (line.cycle, line.matra)):
        start = position_of(tala, line.cycle, line.matra)
        assert start >= free_from
        free_from = start + parse(line.swaras).length


@BOTH
def test_what_both_play_is_equally_long_and_lands_together(performance):
    for plan in performance.tihais:
        if plan.played_by == "both":
            tabla = parse(plan.bols)
            assert (tabla.length, tabla.last_onset) == (plan.passage.length, plan.passage.last_onset)
            assert tabla.onsets[0] == plan.passage.onsets[0]


@pytest.mark.parametrize(
    ("performance", "swaras", "only_down", "only_up"),
    [(DESH, "SRGmPDnN", "GDn", "N"), (BAGESHRI, "SRgmDn", "R", "")],
    ids=("desh", "bageshri"),
)
def test_lines_keep_to_the_raga(performance, swaras, only_down, only_up):
    for text in every_line(performance):
        symbols = [note.symbol for note in parse(text).notes]
        steps = [semitones_of(symbol) for symbol in symbols]
        for symbol, here, there in zip(symbols, steps, steps[1:], strict=False):
            letter = symbol.strip(".'")
            assert letter in swaras, text
            assert letter not in only_down or there <= here, f"{symbol} goes up in '{text}'"
            assert letter not in only_up or there >= here, f"{symbol} goes down in '{text}'"
