"""The cycle: found with no help, kept to marked sams exactly, honest where there is nothing to hear."""

import dataclasses

import numpy as np
import pytest

from ingest.cycle import fit_cycle, straight_cycle
from ingest.errors import ConflictingSams, NoPulse
from ingest.measure import measure_blocks
from ingest.theka_profile import theka_places
from tests.ingest.sounds import dayan, put, theka
from tests.ingest.struck_evidence import BAYAN, DEAD, RIM, struck
from theory.talas import get_tala

SIX = ["teental", "jhaptal", "rupak", "ektal", "keherwa", "dadra"]


def matra_times(matra_s, count, start_s=0.35, drift=0.0, jitter_s=0.0, seed=0):
    """Times of ``count`` matras, the last shorter than the first by ``drift``."""
    lengths = matra_s * np.linspace(1, 1 - drift, count - 1)
    times = start_s + np.concatenate([[0], np.cumsum(lengths)])
    return times + np.random.default_rng(seed).normal(0, jitter_s, count)


def evidence_of(tala, times, first_matra=1, end_s=0.3):
    return measure_blocks([theka(tala, times, times[-1] + end_s, first_matra).astype(np.float32)])


def numbers(tala, times, first_matra):
    return (np.arange(len(times)) + first_matra - 1) % tala.matras + 1


def assert_follows(fit, times, matra, within_s=0.03):
    nearest = np.abs(fit.matra_s[:, None] - times).argmin(axis=0)
    assert np.abs(fit.matra_s[nearest] - times).max() < within_s
    np.testing.assert_array_equal(fit.matra[nearest], matra)


def assert_consistent(fit, tala):
    """What every fit owes its reader."""
    assert len(fit.cycle) == len(fit.matra) == len(fit.matra_s) == len(fit.confidence) == len(fit.solo)
    assert np.all(np.diff(fit.matra_s) > 0)
    np.testing.assert_array_equal(fit.sam_s, fit.matra_s[fit.matra == 1])
    np.testing.assert_array_equal(np.diff(fit.matra) % tala.matras, 1 % tala.matras)
    np.testing.assert_array_equal(fit.cycle, np.cumsum(fit.matra == 1))
    assert len(fit.sam_source) == len(fit.sam_confidence) == len(fit.sam_s)
    assert ((fit.confidence >= 0) & (fit.confidence <= 1)).all()
    assert ((fit.sam_confidence >= 0) & (fit.sam_confidence <= 1)).all()


@pytest.mark.parametrize("name", SIX)
def test_the_theka_of_each_tala_is_followed_from_any_matra_with_no_help(name):
    tala = get_tala(name)
    times = matra_times(0.45, 3 * tala.matras, jitter_s=0.008)
    fit = fit_cycle(evidence_of(tala, times, 4), 0.0, times[-1] + 0.3, tala)
    assert_consistent(fit, tala)
    assert_follows(fit, times, numbers(tala, times, 4))
    assert set(fit.sam_source) == {"tracked"}


@pytest.mark.parametrize("filled", [True, False])
def test_a_slow_theka_keeps_its_laya_filled_in_or_not(filled):
    tala = get_tala("jhaptal")
    times = matra_times(1.3, 31)
    sound = theka(tala, times, times[-1] + 0.3)
    for count, at_s in enumerate(times[:-1] if filled else []):
        put(sound, at_s + 0.65, 0.2 * dayan(count))
    fit = fit_cycle(measure_blocks([sound.astype(np.float32)]), 0.0, times[-1], tala)
    assert_follows(fit, times, numbers(tala, times, 1))
    assert np.median(np.diff(fit.matra_s)) == pytest.approx(1.3, abs=0.02)


def test_a_drifting_laya_is_followed():
    tala = get_tala("jhaptal")
    times = matra_times(0.6, 60, drift=0.35, jitter_s=0.01)
    fit = fit_cycle(evidence_of(tala, times), 0.0, times[-1] + 0.3, tala)
    assert_follows(fit, times, numbers(tala, times, 1))


def test_a_section_is_followed_in_the_recordings_own_time():
    tala = get_tala("rupak")
    times = matra_times(0.4, 60)
    fit = fit_cycle(evidence_of(tala, times), 6.0, 18.0, tala)
    inside = (times >= 6.0) & (times <= 18.0)
    assert_follows(fit, times[inside], numbers(tala, times, 1)[inside])
    assert fit.matra_s[0] >= 6.0
    assert fit.matra_s[-1] <= 18.0


def test_the_cycle_before_the_first_sam_is_cycle_nought():
    tala = get_tala("jhaptal")
    times = matra_times(0.4, 34)
    fit = fit_cycle(evidence_of(tala, times, first_matra=8), 0.0, times[-1], tala)
    before = fit.matra_s < fit.sam_s[0]
    assert set(fit.cycle[before]) == {0}
    assert fit.cycle[fit.matra == 1].tolist() == list(range(1, len(fit.sam_s) + 1))
    assert fit.matra[np.abs(fit.matra_s - times[0]).argmin()] == 8


@pytest.mark.parametrize("marked", [[1], [0, 2], [1, 2]])
def test_marked_sams_come_back_exactly_wherever_they_are(marked):
    tala = get_tala("jhaptal")
    times = matra_times(0.5, 42)
    sams = times[::10][marked] + 0.0123
    fit = fit_cycle(evidence_of(tala, times), 0.0, times[-1], tala, sams)
    assert_consistent(fit, tala)
    assert set(sams) <= set(fit.sam_s)
    assert [source for source, at in zip(fit.sam_source, fit.sam_s, strict=True) if at in sams] == ["marked"] * len(
        sams
    )
    assert fit.sam_confidence[np.isin(fit.sam_s, sams)].tolist() == [1.0] * len(sams)
    assert_follows(fit, times, numbers(tala, times, 1))


def test_a_marked_sam_overrules_what_the_strokes_say():
    tala = get_tala("jhaptal")
    times = matra_times(0.5, 42)
    wrong_sam = times[3]
    fit = fit_cycle(evidence_of(tala, times), 0.0, times[-1], tala, [wrong_sam])
    assert wrong_sam in fit.sam_s
    assert_consistent(fit, tala)


def test_how_many_avartans_lie_between_two_marks_follows_from_the_strokes():
    tala = get_tala("rupak")
    times = matra_times(0.35, 7 * 6 + 1)
    fit = fit_cycle(evidence_of(tala, times), 0.0, times[-1], tala, [times[7], times[35]])
    cycle_of = dict(zip(fit.matra_s, fit.cycle, strict=True))
    assert cycle_of[times[35]] - cycle_of[times[7]] == 4


def test_strokes_that_fail_for_a_while_do_not_lose_the_cycle():
    tala = get_tala("teental")
    times = matra_times(0.4, 96)
    sound = theka(tala, times, times[-1] + 0.3)
    sound[round(times[40] * 22050) : round(times[52] * 22050)] = 0
    fit = fit_cycle(measure_blocks([sound.astype(np.float32)]), 0.0, times[-1], tala)
    heard = np.r_[0:40, 53:96]
    assert_follows(fit, times[heard], numbers(tala, times, 1)[heard])
    silent = (fit.matra_s > times[43]) & (fit.matra_s < times[50])
    assert fit.confidence[silent].mean() < 0.5 * fit.confidence[~silent].mean()


def test_a_section_shorter_than_an_avartan_still_has_matras():
    tala = get_tala("teental")
    times = matra_times(0.5, 64)
    fit = fit_cycle(evidence_of(tala, times), times[0], times[6] + 0.2, tala, [times[0]])
    assert_consistent(fit, tala)
    assert_follows(fit, times[:7], numbers(tala, times, 1)[:7])
    moment = fit_cycle(evidence_of(tala, times), times[1], times[1] + 0.2, tala)
    assert len(moment.matra_s) <= 2
    assert moment.cycle.max(initial=0) <= 1


def test_silence_with_no_mark_or_one_has_no_pulse():
    silent = measure_blocks([np.zeros(10 * 22050, np.float32)])
    for marks in ([], [4.0]):
        with pytest.raises(NoPulse, match="Mark two sams or more"):
            fit_cycle(silent, 0.0, 10.0, get_tala("rupak"), marks)


def test_a_tala_whose_theka_is_not_known_is_laid_out_between_marks_and_not_guessed_at():
    dobahar = get_tala("dobahar")
    evidence = measure_blocks([theka(get_tala("teental"), matra_times(0.6, 48), 30.0).astype(np.float32)])
    with pytest.raises(NoPulse, match="theka of Dobahar"):
        fit_cycle(evidence, 0.0, 30.0, dobahar)
    fit = fit_cycle(evidence, 0.0, 30.0, dobahar, [2.0, 15.0])
    # teental played on, five strokes to three of these matras, draws them hardly aside
    assert np.diff(fit.matra_s) == pytest.approx(1.0, abs=2e-3)


def test_silence_between_marked_sams_is_laid_out_evenly_at_no_confidence():
    silent = measure_blocks([np.zeros(20 * 22050, np.float32)])
    fit = fit_cycle(silent, 0.0, 20.0, get_tala("rupak"), [3.0, 10.0, 16.0])
    assert {3.0, 10.0, 16.0} <= set(fit.sam_s)
    assert fit.confidence.max() == 0
    np.testing.assert_allclose(fit.matra_s[(fit.matra_s >= 3) & (fit.matra_s <= 10)], np.arange(3, 10.5), atol=1e-9)


def test_marks_closer_than_any_laya_allows_conflict():
    tala = get_tala("teental")
    times = matra_times(0.4, 40)
    with pytest.raises(ConflictingSams, match=r"5\.00 s and 6\.50 s.*1\.50 s apart.*at least 2\.9 s"):
        fit_cycle(evidence_of(tala, times), 0.0, times[-1], tala, [5.0, 6.5])


def test_a_mark_outside_its_section_is_refused():
    tala = get_tala("teental")
    times = matra_times(0.4, 40)
    with pytest.raises(ConflictingSams, match=r"12\.00 s lies outside its section"):
        fit_cycle(evidence_of(tala, times), 0.0, 10.0, tala, [12.0])


def test_gain_does_not_matter():
    tala = get_tala("jhaptal")
    times = matra_times(0.5, 32)
    sound = theka(tala, times, times[-1] + 0.3).astype(np.float32)
    loud = fit_cycle(measure_blocks([sound]), 0.0, times[-1], tala)
    soft = fit_cycle(measure_blocks([np.float32(0.02) * sound]), 0.0, times[-1], tala)
    np.testing.assert_allclose(soft.matra_s, loud.matra_s, atol=1e-3)


def test_evidence_that_ends_before_the_section_does_is_no_trouble():
    tala = get_tala("jhaptal")
    times = matra_times(0.5, 32)
    evidence = evidence_of(tala, times)
    fit = fit_cycle(evidence, 0.0, times[-1] + 30, tala)
    assert fit.matra_s[-1] <= evidence.duration_s
    with pytest.raises(NoPulse):
        fit_cycle(evidence, times[-1] + 30, times[-1] + 40, tala)


class TestStraightCycle:
    def test_matras_are_even_between_sams_and_sams_exact(self):
        tala = get_tala("jhaptal")
        fit = straight_cycle(0.0, 30.0, tala, [2.0, 12.0, 21.0])
        assert_consistent(fit, tala)
        assert fit.sam_s.tolist() == [2.0, 12.0, 21.0, 30.0]
        assert fit.sam_source == ["marked", "marked", "marked", "tracked"]
        np.testing.assert_allclose(fit.matra_s[fit.cycle == 1], np.arange(2.0, 12.0), atol=1e-9)
        np.testing.assert_allclose(fit.matra_s[fit.cycle == 2], 12 + 0.9 * np.arange(10), atol=1e-9)

    def test_matras_go_on_before_the_first_and_after_the_last_sam(self):
        fit = straight_cycle(0.2, 16.0, get_tala("rupak"), [3.5, 7.0, 14.0])
        np.testing.assert_allclose(fit.matra_s[fit.cycle == 0], 0.5 * np.arange(1, 7), atol=1e-9)
        np.testing.assert_allclose(fit.matra_s[fit.cycle == 3], [14, 15, 16], atol=1e-9)

    def test_each_pair_of_sams_is_one_avartan_however_long(self):
        fit = straight_cycle(0.0, 60.0, get_tala("rupak"), [0.0, 7.0, 49.0, 56.0])
        assert fit.cycle[np.isin(fit.matra_s, [0.0, 7.0, 49.0, 56.0])].tolist() == [1, 2, 3, 4]

    def test_fewer_than_two_sams_are_not_enough(self):
        with pytest.raises(ConflictingSams, match="two sams or more"):
            straight_cycle(0.0, 30.0, get_tala("rupak"), [4.0])


def test_a_fit_is_a_value_that_cannot_be_changed():
    fit = straight_cycle(0.0, 30.0, get_tala("rupak"), [4.0, 11.0])
    with pytest.raises(dataclasses.FrozenInstanceError):
        fit.matra = np.zeros(1)


def test_a_fit_tells_where_the_theka_was_left():
    tala = get_tala("jhaptal")
    matra_s, avartans, left = 0.5, 9, (4, 6)
    groups = []
    for place in theka_places(tala):
        at_s = [
            (cycle * tala.matras + place.matra + place.share) * matra_s
            for cycle in range(avartans)
            if not left[0] <= cycle < left[1]
        ]
        if place.bayan.argmax():
            groups.append((at_s, BAYAN + place.bayan.argmax() - 1, 0.9))
        if place.dayan.argmax():
            groups.append((at_s, RIM + place.dayan.argmax() - 1, 0.9))
    quarters_s = np.arange(left[0] * tala.matras, left[1] * tala.matras, 0.25) * matra_s
    groups += [(quarters_s[::2], RIM, 0.9), (quarters_s[1::2], DEAD, 0.9)]
    end_s = avartans * tala.matras * matra_s
    evidence = struck(end_s, *groups)
    evidence.hop_s, evidence.strength = evidence.stroke_hop_s, evidence.strokes.max(axis=1)
    fit = fit_cycle(evidence, 0.0, end_s, tala)
    assert_consistent(fit, tala)
    assert set(fit.cycle[fit.solo]) == {left[0] + 1, left[1]}
    assert fit.solo.sum() == 2 * tala.matras
