"""The sounds of practice sounds: clicks as in the browser, strokes that begin at once, drums tuned to Sa."""

import re
from pathlib import Path

import numpy as np
import pytest

from annotate.practice.sounds import instruments
from annotate.practice.sounds.instruments import CLICKS, Tuning, click, pull_of, sound_of
from ingest.sound_writing import RATE_HZ

IN_THE_BROWSER = (Path(__file__).parents[4] / "dashboard/assets/clicks.mjs").read_text(encoding="utf-8")
TUNING = Tuning(277.2, (0.75, 1.0, 1.0, 0.5))


def test_clicks_are_those_of_the_browser():
    found = re.findall(r"(\w+): \{ hz: ([\d.]+), level: ([\d.]+) \}", IN_THE_BROWSER)
    assert {name: (float(hz), float(level)) for name, hz, level in found} == {
        name: of for name, of in CLICKS.items() if name != "dam"
    }
    for name, value in re.findall(r"const (LASTS|DECAY|ATTACK)_S = ([\d.]+)", IN_THE_BROWSER):
        ours = {"LASTS": "CLICK_S", "DECAY": "CLICK_DECAY_S", "ATTACK": "CLICK_ATTACK_S"}[name]
        assert getattr(instruments, ours) == float(value)


def test_sam_khali_and_a_dam_are_told_apart_by_ear():
    hz = sorted(hz for hz, _ in CLICKS.values())
    assert {CLICKS[name][0] for name in ("sam", "khali", "dam")} <= set(hz)
    assert len({CLICKS[name][0] for name in ("sam", "khali", "dam", "tali")}) == 4
    assert all(np.abs(click(name)).max() > 0.2 for name in CLICKS)


@pytest.mark.parametrize(
    "sound", [("click", "sam"), ("dayan", "rim"), ("dayan", "dead"), ("bayan", "rings"), ("pluck", "S"), ("lehra", "P")]
)
def test_a_stroke_begins_within_a_millisecond_of_its_first_sample(sound):
    strength = np.abs(sound_of(sound, TUNING)).max(axis=1)
    first = np.flatnonzero(strength > 0.1 * strength.max())[0]
    assert first <= 0.001 * RATE_HZ


@pytest.mark.parametrize(("sa_hz", "dayan_hz"), [(146.8, 293.6), (294.5, 294.5), (520.0, 260.0), (100.0, 200.0)])
def test_the_dayan_is_tuned_to_sa_in_its_own_octave(sa_hz, dayan_hz):
    assert Tuning(sa_hz, ()).dayan_hz == pytest.approx(dayan_hz)


def test_the_strings_of_the_tanpura_sound_their_ratios():
    for string, ratio in ((0, 0.75), (3, 0.5)):
        pull = pull_of(string, TUNING).mean(axis=1)
        spectrum = np.abs(np.fft.rfft(pull * np.hanning(len(pull)), 1 << 20))
        due = ratio * TUNING.sa_hz
        first, last = (round(due * share * (1 << 20) / RATE_HZ) for share in (0.97, 1.03))
        hz = (first + spectrum[first:last].argmax()) * RATE_HZ / (1 << 20)
        assert 1200 * np.log2(hz / due) == pytest.approx(0, abs=3)
