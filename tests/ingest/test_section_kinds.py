"""What a recording consists of, told from the sound of the sample performances and of small ones made here."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from benchmarks.concerts.melody import Scale, alap, jor
from benchmarks.evenings.applause import applause
from benchmarks.evenings.jhala import jhala
from ingest.evidence import Evidence
from ingest.kind_names import KINDS
from ingest.measure import measure, measure_blocks
from ingest.section_kinds import sections_heard
from ingest.stretches import stretches
from sample_data.tools import place
from tests.ingest.small_concert import SA_HZ, measured, sound_of
from theory.ragas import get_raga

SAMPLES = Path(__file__).parents[2] / "sample_data"
NEAR_S = 4.0


@pytest.fixture(scope="module", params=[("desh_teental", 23.2), ("bageshri_jhaptal", 24.6)])
def sample(request) -> tuple[Evidence, float]:
    """A sample performance (mandolin and tabla, synthesised) and where its gat begins."""
    name, gat_s = request.param
    return measure(SAMPLES / f"{name}.ogg"), gat_s


def lead_alone(*parts, clapping_s=0.0):
    """Evidence of a mandolin alone over a tanpura; each part is a function and its seconds; applause after them."""
    rng = np.random.default_rng(8)
    scale = Scale(get_raga("yaman"), rng)
    strokes, at_s = [], 2.0
    for part, seconds, mpm in parts:
        pulse = () if mpm is None else ((mpm, mpm),)
        strokes += part(seconds, at_s, *pulse, SA_HZ, scale, rng)
        at_s += seconds + 1.0
    duration_s = at_s + clapping_s + 2.0
    sound = sound_of(strokes, [], duration_s)
    if clapping_s:
        place(sound, applause(clapping_s, 60, rng), at_s)
    return measured(sound)


def test_the_sample_performances_are_an_alap_and_a_gat(sample):
    evidence, gat_s = sample
    sections = sections_heard(evidence)
    assert sections[-1].kind in ("madhya gat", "drut gat")
    assert gat_s - 8.5 < sections[-1].start_s < gat_s + 1  # in the one the end of the alap sounds like a mukhra
    assert all(section.kind in ("alap", "jor", "tuning") for section in sections[:-1])


def test_sections_cover_the_recording_without_gaps(sample):
    evidence, _ = sample
    sections = sections_heard(evidence)
    assert sections[0].start_s == 0
    assert sections[-1].end_s == evidence.duration_s
    assert all(before.end_s == after.start_s for before, after in pairwise(sections))
    assert all(section.end_s > section.start_s and section.kind in KINDS for section in sections)


def test_the_tabla_of_the_sample_performances_is_found_to_the_stroke(sample):
    evidence, gat_s = sample
    (tabla,) = (stretch for stretch in stretches(evidence) if stretch.with_tabla)
    assert gat_s - 1 < tabla.start_s < gat_s + 3  # the mukhra comes first
    assert evidence.duration_s - 6 < tabla.end_s < evidence.duration_s


def test_alap_jor_jhala_and_applause_are_told_apart():
    evidence = lead_alone((alap, 24.0, None), (jor, 22.0, 80.0), (jhala, 20.0, 130.0), clapping_s=8.0)
    sections = sections_heard(evidence)
    assert [section.kind for section in sections] == ["alap", "jor", "jhala", "applause"]
    assert [section.start_s for section in sections[1:]] == pytest.approx([26.5, 49.5, 70.5], abs=NEAR_S)
    assert [stretch.with_tabla for stretch in stretches(evidence)] == [False]


def test_in_silence_no_section_is_heard():
    silent = measure_blocks([np.zeros(5 * 22050, np.float32)])
    assert sections_heard(silent) == []
    assert sections_heard(replace(silent, level_db=silent.level_db[:0])) == []


def test_a_second_of_sound_is_one_section():
    noise = 0.1 * np.random.default_rng(1).normal(size=22050).astype(np.float32)
    (only,) = sections_heard(measure_blocks([noise]))
    assert (only.start_s, only.end_s) == (0, pytest.approx(1.0, abs=0.01))
