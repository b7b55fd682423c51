"""Verdicts: on paper, as played, and what is said when the two disagree."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.records import MarkedSam, Section, TihaiRecord
from annotate.revisions import add
from annotate.verify import Verdict, simple_fraction, verify, verify_recording
from tests.annotate.desk import MATRA_S, SLUG, at, tihai
from theory.tihai import LandingRule

EXACT_MS = 1e-6  # doubles


def judge(archive: Archive, record: TihaiRecord) -> Verdict:
    return verify(record, archive.grid(SLUG), recording=SLUG)


def test_a_tihai_on_sam_lands(archive: Archive) -> None:
    verdict = judge(archive, tihai())
    assert verdict.verdict == "lands"
    assert verdict.landing_dev_ms == pytest.approx(0, abs=EXACT_MS)
    assert verdict.sentence == "Lands on sam: the last stroke came on the dot."
    assert verdict.paper is not None
    assert verdict.paper.lands
    assert verdict.spacing_matras == pytest.approx((6, 6))
    assert verdict.nearest_period == 6


def test_a_landing_a_little_late_is_told_in_ms_and_matras(archive: Archive) -> None:
    verdict = judge(archive, tihai(dev_s=0.023))
    assert verdict.sentence == "Lands on sam: the last stroke came 23 ms late (0.05 matra)."
    assert verdict.landing_dev_ms == pytest.approx(23)
    assert verdict.landing_dev_matras == pytest.approx(0.023 / MATRA_S)


@pytest.mark.parametrize(
    ("dev_s", "verdict"),
    [
        (0.0, "lands"),
        (0.099, "lands"),
        (-0.099, "lands"),
        (0.101, "late"),
        (-0.101, "early"),
        (0.249, "late"),
        (-0.249, "early"),
        (0.251, "misses"),  # half a matra of 500 ms
        (-0.5, "misses"),
        (2.0, "misses"),
    ],
)
def test_the_verdict_goes_by_the_distance_from_the_target(archive: Archive, dev_s: float, verdict: str) -> None:
    assert judge(archive, tihai(dev_s=dev_s)).verdict == verdict


def test_in_fast_laya_the_tolerance_is_a_third_of_a_matra(archive: Archive) -> None:
    assert judge(archive, tihai()).tolerance_ms == 100
    section = Section("drut", "gat", 90.5, 99.0, "teental")
    marks = [MarkedSam(f"s{90 + n}", "drut", 91.0 + 3.2 * n) for n in range(3)]  # 200 ms a matra
    archive.commit(SLUG, [add(each) for each in (section, *marks)], "a", "")
    verdict = judge(archive, TihaiRecord("t01", (92.0,), 94.2 + 0.07, "teental"))
    assert verdict.tolerance_ms == pytest.approx(1000 * 0.2 / 3)
    assert verdict.verdict == "late"


def test_right_on_paper_and_late_as_played_says_that_they_disagree(archive: Archive) -> None:
    verdict = judge(archive, tihai(dev_s=0.2))
    assert verdict.sentence == (
        "Late for sam as played: the last stroke came 200 ms late (0.40 matra); on paper it lands. "
        "Paper and playing disagree."
    )


def test_short_on_paper_and_played_so_misses(archive: Archive) -> None:
    verdict = judge(archive, tihai(palla="S R G m", dam=Fraction(2), landing_s=at(2, 16) + 0.023))
    assert verdict.verdict == "misses"
    assert verdict.sentence == "Misses: on paper it falls 1 matra short of sam, and it was played so."


def test_what_misses_on_paper_and_is_played_so_misses_though_it_is_near(archive: Archive) -> None:
    verdict = judge(
        archive, tihai(palla="S R G m P:1/2", dam=Fraction(3, 2), start=Fraction(1, 2) + 16, landing_s=at(2, 16.5))
    )
    assert verdict.verdict == "misses"
    assert verdict.sentence == "Misses: on paper it falls 1/2 matra short of sam, and it was played so."


def test_short_on_paper_and_landing_as_played_says_that_they_disagree(archive: Archive) -> None:
    verdict = judge(archive, tihai(palla="S R G m", dam=Fraction(2)))
    assert verdict.verdict == "lands"
    assert verdict.sentence.endswith("but on paper it falls 1 matra short of sam. Paper and playing disagree.")


def test_a_target_other_than_sam_is_measured_from_that_matra(archive: Archive) -> None:
    starts = (at(2, 2), at(2, 5.5), at(2, 9))
    record = tihai(
        palla_s=starts, landing_s=at(2, 12) - 0.03, start=Fraction(2), palla="S R G m", dam=Fraction(1, 2),
        rule=LandingRule.WITHIN, target=Fraction(12),
    )  # fmt: skip
    verdict = judge(archive, record)
    assert verdict.target_matra == 12
    assert verdict.landing_dev_ms == pytest.approx(-30)
    assert verdict.sentence.startswith("Lands on matra 12 as played: the last stroke came 30 ms early")


def test_under_the_after_rule_the_landing_stroke_follows(archive: Archive) -> None:
    record = tihai(palla="S R G m", dam=Fraction(2), rule=LandingRule.AFTER)
    verdict = judge(archive, record)
    assert verdict.paper is not None
    assert verdict.paper.lands
    assert verdict.sentence == "Lands on sam: the landing stroke came on the dot."


def test_an_interval_alone_tells_where_its_end_lies(archive: Archive) -> None:
    record = TihaiRecord("t01", (at(2, 9),), at(3, 1) + 0.42, tala="teental", label="Tihai")
    verdict = judge(archive, record)
    assert verdict.paper is None
    assert verdict.verdict == "late"
    assert verdict.landing_dev_ms == pytest.approx(420)
    near = judge(archive, TihaiRecord("t01", (at(2, 9),), at(3, 1) + 0.21, tala="teental"))
    assert (
        near.sentence
        == "Ends after sam: the interval ends 210 ms after it (0.42 matra); the landing stroke itself is not marked."
    )


def test_without_a_grid_the_verdict_is_unknown_and_says_what_to_do(archive: Archive) -> None:
    verdict = judge(archive, tihai(palla_s=(1.0, 2.0, 3.0), landing_s=4.0))
    assert verdict.verdict == "unknown"
    assert verdict.landing_dev_ms is None
    assert verdict.sentence == (
        "On paper it lands. As played not measured: no sams are known where it is played; mark two or more."
    )


def test_outside_any_counted_section_the_arithmetic_is_done_in_the_main_tala(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai(tala="", palla_s=(1.0, 2.0, 3.0), landing_s=4.0))], "a", "")
    (verdict,) = verify_recording(archive, SLUG)
    assert verdict.verdict == "unknown"
    assert verdict.paper is not None
    assert verdict.paper.tala.key == "teental"
    assert archive.index("tihais")["paper_lands"].tolist() == [True]


def test_a_tihai_counted_in_another_tala_than_its_section_is_not_measured(archive: Archive) -> None:
    verdict = judge(archive, tihai(tala="jhaptal", start=Fraction(5)))
    assert verdict.verdict == "unknown"
    assert "counted in Jhaptal and the section 'gat' is in Teental" in verdict.sentence


def test_the_landing_may_close_the_section(archive: Archive) -> None:
    verdict = judge(archive, tihai(cycle=10, dev_s=0.05))
    assert verdict.verdict == "lands"
    assert (verdict.landing_cycle, verdict.landing_matra_played) == (11, pytest.approx(1.1))


def test_each_palla_is_compared_with_its_place_on_paper(archive: Archive) -> None:
    starts = (at(2, 1), at(2, 7) + 0.04, at(2, 13) - 0.02)
    verdict = judge(archive, tihai(palla_s=starts))
    assert [palla.paper_matra for palla in verdict.pallas] == [1, 7, 13]
    assert [palla.dev_ms for palla in verdict.pallas] == pytest.approx([0, 40, -20], abs=EXACT_MS)
    assert verdict.unevenness_ms == pytest.approx(-100)


def test_pallas_run_on_through_the_avartans(archive: Archive) -> None:
    starts = tuple(at(2, 12 + 6 * palla) for palla in range(3))
    verdict = judge(archive, tihai(palla_s=starts, landing_s=at(3, 12), start=Fraction(12), target=Fraction(12)))
    assert [(palla.cycle, palla.matra, palla.paper_matra) for palla in verdict.pallas] == [
        (2, pytest.approx(12), 12),
        (3, pytest.approx(2), 2),
        (3, pytest.approx(8), 8),
    ]
    assert verdict.verdict == "lands"


def test_a_rejected_tihai_gets_no_verdict(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai("t01")), add(tihai("t02", cycle=4, status="rejected"))], "a", "")
    assert [verdict.tihai for verdict in verify_recording(archive, SLUG)] == ["t01"]


def test_the_json_has_the_promised_keys_and_exact_fractions(archive: Archive) -> None:
    plain = json.loads(json.dumps(judge(archive, tihai(dev_s=0.023)).to_json()))
    promised = "recording tihai paper landing_s landing_dev_ms landing_dev_matras target_matra verdict sentence"
    assert set(promised.split()) <= set(plain)
    assert plain["target_matra"] == "1/1"
    assert plain["nearest_period"] == "6/1"
    assert plain["paper"]["sum"] == "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1"
    assert json.loads(json.dumps(judge(archive, TihaiRecord("t", (20.0,), 26.0)).to_json()))["paper"] is None


@given(
    exact=st.sampled_from([Fraction(n, d) for d in (1, 2, 3, 4) for n in range(d, 12 * d)]),
    matra_s=st.floats(0.4, 1.5),
)
def test_a_period_played_evenly_is_read_exactly(exact: Fraction, matra_s: float) -> None:
    assert simple_fraction(float(exact), matra_s) == exact


def test_a_period_played_unevenly_is_read_as_the_simple_fraction_meant() -> None:
    assert simple_fraction(3.1, 0.6) == 3
    assert simple_fraction(5.48, 0.6) == Fraction(11, 2)
    assert simple_fraction(5.35, 0.6) == Fraction(16, 3)
