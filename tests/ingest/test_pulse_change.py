"""Where one gat ends and another begins."""

import numpy as np
import pytest

from ingest.pulse_change import pulse_changes
from ingest.section_weights import section_weights
from ingest.tabla_edges import heard_strokes
from tests.ingest.struck_evidence import BAYAN, RIM, struck


def theka(start_s, end_s, matra_s, seed=3):
    """Strokes on the matras and on some halves, scattered by 10 ms; the bayan on a fixed pattern of eight."""
    random = np.random.default_rng(seed)
    matras_s = np.arange(start_s, end_s, matra_s)
    halves_s = matras_s[random.random(len(matras_s)) < 0.4] + matra_s / 2
    struck_s = np.sort(np.concatenate([matras_s, halves_s])) + random.normal(0, 0.01, len(matras_s) + len(halves_s))
    bass_s = matras_s[np.array([1, 1, 0, 1, 1, 0, 0, 1], bool)[np.arange(len(matras_s)) % 8]]
    return struck_s, bass_s


def changes(*parts, duration_s=150.0):
    groups = [group for rim_s, bass_s in parts for group in ((rim_s, RIM, 0.9), (bass_s, BAYAN, 0.9))]
    evidence = struck(duration_s, *groups)
    last_s = max(rim_s.max() for rim_s, _ in parts)
    return pulse_changes(evidence, heard_strokes(evidence), 10.0, last_s, section_weights())


def test_one_gat_is_not_divided():
    assert changes(theka(10, 140, 0.62)) == []


def test_a_new_laya_without_a_pause_begins_a_new_gat():
    (at_s,) = changes(theka(10, 70, 0.85), theka(70.4, 140, 0.37))
    assert at_s == pytest.approx(70.2, abs=3)


def test_a_rest_of_some_seconds_before_a_new_laya_ends_a_gat_with_its_last_stroke():
    first = theka(10, 70, 0.7)
    (at_s,) = changes(first, theka(75, 140, 0.45))
    assert first[0].max() < at_s < 73


def test_a_stretch_of_a_few_seconds_is_one_gat():
    assert changes(theka(10, 18, 0.6), duration_s=30.0) == []
