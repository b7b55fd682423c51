"""What the bench evenings hold, and whether their truth is true. Nobody speaks here: that takes a speech program."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from benchmarks.concerts.melody import Scale
from benchmarks.evenings.applause import applause
from benchmarks.evenings.evening import GOES_ON_MATRAS, Evening, hold, read_truth, write_truth
from benchmarks.evenings.jhala import jhala
from benchmarks.evenings.plan import OUTLINES, plan_evening
from benchmarks.evenings.render import _drone_gate
from benchmarks.evenings.tuning import tune
from ingest.kind_names import KINDS, gat_kind
from sample_data.tools import RATE_HZ
from theory.ragas import get_raga


@pytest.fixture(scope="module", params=(1, 4))
def evening(request: pytest.FixtureRequest) -> Evening:
    plan = plan_evening(request.param)
    return hold(replace(plan, items=tuple(item for item in plan.items if item.kind != "talk")))


def test_four_seeds_in_a_row_bring_every_kind() -> None:
    assert {item.kind for seed in range(1, 5) for item in plan_evening(seed).items} == set(KINDS)
    assert len(OUTLINES) == 4


def test_sections_follow_each_other_and_hold_what_sounds(evening: Evening) -> None:
    sections = evening.truth.sections
    assert all(before.end_s <= after.start_s for before, after in pairwise(sections))
    for section in sections:
        assert section.end_s - section.start_s > 3
    onsets_s = [pluck.onset_s for pluck in evening.plucks] + [stroke.onset_s for stroke, _ in evening.strokes]
    early_s = 0.03  # a first stroke scatters about the pulse like any other
    inside = [any(each.start_s - early_s <= at_s <= each.end_s + early_s for each in sections) for at_s in onsets_s]
    assert all(inside)


def test_gats_are_named_by_the_laya_that_is_played(evening: Evening) -> None:
    gats = [section for section in evening.truth.sections if "gat" in section.kind]
    assert gats
    for gat in gats:
        assert gat.kind == gat_kind(gat.laya_mpm)
        assert gat.tabla_s == (pytest.approx(gat.tabla_s[0]), pytest.approx(gat.end_s, abs=3))


def test_a_gat_that_goes_on_follows_within_a_matra_of_its_own(evening: Evening) -> None:
    kept = [item for item in evening.plan.items if item.pause_s == 0]
    assert kept
    for (before, after), item in zip(pairwise(evening.held), evening.plan.items[1:], strict=True):
        if item.pause_s == 0:
            matra_s = 60 / after.laya_mpm
            assert 0 < after.tabla_s[0] - before.end_s < 1.3 * GOES_ON_MATRAS * matra_s


def test_the_same_seed_is_the_same_evening(tmp_path: Path, evening: Evening) -> None:
    assert hold(evening.plan).truth == evening.truth
    write_truth(tmp_path / "truth.json", evening.truth)
    assert read_truth(tmp_path / "truth.json") == evening.truth


def test_applause_swells_and_dies_and_has_no_pitch() -> None:
    sound = applause(6.0, 60, np.random.default_rng(2))
    level = np.sqrt((sound[: 6 * RATE_HZ].reshape(12, -1) ** 2).mean(axis=1))
    assert level[2:6].mean() == pytest.approx(0.1, rel=0.25)
    assert level[-1] < 0.7 * level[2:6].mean()
    power = np.abs(np.fft.rfft(sound[RATE_HZ : 3 * RATE_HZ, 0])) ** 2
    smooth = np.convolve(power, np.ones(200) / 200, "same")
    assert (power[400:8000] / smooth[400:8000]).max() < 40  # a partial of a string stands out by hundreds


def test_jhala_has_four_even_strokes_a_beat_most_of_them_on_the_chikari() -> None:
    rng = np.random.default_rng(3)
    plucks = jhala(20.0, 5.0, (120.0, 120.0), 150.0, Scale(get_raga("yaman"), rng), rng)
    gaps_s = np.diff([pluck.onset_s for pluck in plucks])
    assert gaps_s.mean() == pytest.approx(0.125, rel=0.01)
    assert gaps_s.std() < 0.02
    chikari = [pluck for pluck in plucks if pluck.hz in (300.0, 600.0)]
    assert 0.5 < len(chikari) / len(plucks) < 0.8


def test_tuning_brings_strings_nearer_to_their_pitch() -> None:
    tuned = tune(60.0, 150.0, np.random.default_rng(6))
    turned = [pluck for pluck in tuned.plucks if pluck.from_hz is not None]
    assert len(turned) > 10
    assert all(0.9 < pluck.from_hz / pluck.hz < 1.1 for pluck in turned if pluck.from_hz)
    assert max(pluck.onset_s for pluck in tuned.plucks) < 60.0


def test_the_drone_rests_in_talk_and_applause_where_it_is_planned_to(evening: Evening) -> None:
    n = int(evening.truth.duration_s * RATE_HZ)
    clapped = next(section for section in evening.held if section.kind == "applause")
    middle = int((clapped.start_s + clapped.end_s) / 2 * RATE_HZ)
    for rests in (True, False):
        gate = _drone_gate(replace(evening, plan=replace(evening.plan, drone_in_talk=not rests)), n)
        assert len(gate) == n
        assert gate[middle] == pytest.approx(0.0 if rests else 1.0, abs=1e-3)
        assert gate[int(evening.held[3].start_s * RATE_HZ) + 3 * RATE_HZ] == pytest.approx(1.0, abs=1e-3)
