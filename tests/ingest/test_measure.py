"""Measuring: one streaming pass, the same whatever the block, onsets where they were struck."""

import numpy as np
import pytest

from ingest.decode import WORK_RATE_HZ
from ingest.errors import EmptyAudio
from ingest.evidence import DRONE_CELLS, DRONE_LOW_HZ
from ingest.measure import measure, measure_blocks
from ingest.onsets import HOP_S
from tests.ingest.sounds import RATE_HZ, bayan, dayan, put, tone, write

STRUCK_S = np.arange(0.5, 7.5, 0.437)
NA, DHA = dayan(), bayan()
DHA[: len(NA)] += NA


def struck(part, duration_s=8.0):
    sound = np.zeros(round(duration_s * RATE_HZ))
    for at_s in STRUCK_S:
        put(sound, at_s, 0.5 * part)
    return sound


def in_blocks(sound, length):
    samples = sound.astype(np.float32)
    return measure_blocks(samples[first : first + length] for first in range(0, len(samples), length))


def peaks_s(strength):
    reach = round(0.1 / HOP_S)
    frames = [round(at_s / HOP_S) for at_s in STRUCK_S]
    return np.array([(frame - reach + np.argmax(strength[frame - reach : frame + reach])) * HOP_S for frame in frames])


@pytest.mark.parametrize("length", [1, 127, 1000, 22050, 65536])
def test_streaming_equals_batch_for_every_block_size(length):
    random = np.random.default_rng(2)
    duration = 3 * RATE_HZ if length > 1 else RATE_HZ // 4
    sound = struck(NA)[:duration] + 0.01 * random.normal(size=duration)
    whole, parts = in_blocks(sound, len(sound)), in_blocks(sound, length)
    assert whole.duration_s == parts.duration_s
    for name in ("bass", "treble", "strength", "level_db", "chroma", "drone", "texture"):
        # sums over bands may be taken in another order: single precision
        np.testing.assert_allclose(getattr(parts, name), getattr(whole, name), rtol=1e-4, atol=1e-5, err_msg=name)


def test_a_file_measures_as_its_samples_do_and_progress_runs_to_one(tmp_path):
    sound = struck(NA)
    told = []
    evidence = measure(write(tmp_path / "strokes.wav", sound), told.append, block_s=0.5)
    # 16 bits in the file
    np.testing.assert_allclose(evidence.treble, in_blocks(sound, len(sound)).treble, rtol=0, atol=0.01)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 10


def test_every_track_covers_the_recording():
    evidence = in_blocks(struck(NA), 4096)
    assert evidence.duration_s == pytest.approx(8.0)
    for track in (evidence.bass, evidence.treble, evidence.strength, evidence.level_db):
        assert track.dtype == np.float32
        assert len(track) == pytest.approx(8.0 / evidence.hop_s, abs=1)
    assert evidence.chroma.shape[1] == 12
    assert len(evidence.chroma) == pytest.approx(8.0 / evidence.chroma_hop_s, abs=1)
    assert evidence.drone.shape == (DRONE_CELLS,)


@pytest.mark.parametrize("stroke", [NA, DHA], ids=["na", "dha"])
def test_onsets_are_found_where_they_were_struck(stroke):
    sound = struck(stroke)
    sound += 0.003 * np.random.default_rng(6).normal(
        size=len(sound)
    )  # a room's noise: out of nothing, a rise is seen early
    late_s = peaks_s(in_blocks(sound, 8192).strength) - STRUCK_S
    assert abs(late_s.mean()) < 0.005
    # a frame is 5.8 ms
    assert np.abs(late_s).max() < 0.012


def test_a_bass_stroke_shows_in_the_bass_and_a_treble_stroke_in_the_treble():
    low, high = in_blocks(struck(bayan()), 8192), in_blocks(struck(NA), 8192)
    assert low.bass.max() > 2 * high.bass.max()
    assert high.treble.max() > 2 * low.treble.max()


def test_gain_scales_onset_strength_as_a_whole():
    sound = struck(DHA)
    loud, soft = in_blocks(sound, 8192), in_blocks(0.05 * sound, 8192)
    expected = 0.05 ** (2 * 0.2)  # amplitude squared, to the power 0.2
    np.testing.assert_allclose(soft.strength, loud.strength * expected, rtol=1e-3, atol=1e-4)


def test_a_gliding_note_is_no_onset():
    time_s = np.arange(4 * RATE_HZ) / RATE_HZ
    glide_hz = 400 * 2 ** (np.sin(2 * np.pi * 1.5 * time_s) * 2 / 12)
    glide = 0.4 * np.sin(2 * np.pi * np.cumsum(glide_hz) / RATE_HZ)
    inner = slice(round(0.5 / HOP_S), round(3.5 / HOP_S))
    assert in_blocks(glide, 8192).treble[inner].max() < 0.3 * in_blocks(struck(NA), 8192).treble.max()


def test_level_is_in_decibels_below_full_scale():
    level_db = in_blocks(tone(440, 2.0), 8192).level_db
    inner = level_db[round(0.2 / HOP_S) : round(1.8 / HOP_S)]
    # a full-scale sine has an RMS of 1 / sqrt(2)
    np.testing.assert_allclose(inner, -3.01, atol=0.05)
    assert in_blocks(np.zeros(RATE_HZ), 8192).level_db.max() <= -119


@pytest.mark.parametrize(("hz", "pitch_class"), [(261.63, 0), (440.0, 9), (739.99, 6)])
def test_chroma_counts_pitch_classes_from_c(hz, pitch_class):
    chroma = in_blocks(tone(hz, 3.0), 8192).chroma
    assert set(chroma[10:-10].argmax(axis=1)) == {pitch_class}


def test_the_drone_spectrum_keeps_what_stands_still():
    random = np.random.default_rng(4)
    moving = np.concatenate([0.3 * tone(300 * 2 ** random.uniform(0, 1), 0.25) for _ in range(96)])
    sound = moving + 0.05 * tone(196.0, len(moving) / RATE_HZ)
    drone = in_blocks(sound, 8192).drone
    loudest_hz = DRONE_LOW_HZ * 2 ** (drone.argmax() / 120)
    assert 1200 * abs(np.log2(loudest_hz / 196.0)) < 10


@pytest.mark.parametrize("length", [1, 100, 5000])
def test_a_sound_of_a_moment_is_measured_all_the_same(length):
    evidence = in_blocks(0.1 * np.ones(length), 8192)
    assert evidence.duration_s == length / WORK_RATE_HZ
    assert len(evidence.bass) == len(evidence.treble) == len(evidence.level_db) >= 1
    assert np.isfinite(evidence.drone).all()


def test_silence_has_no_onset_and_no_chroma():
    evidence = in_blocks(np.zeros(2 * RATE_HZ), 8192)
    assert evidence.strength.max() == 0
    assert evidence.chroma.max() == 0
    assert evidence.drone.max() == 0


def test_an_empty_file_is_refused(tmp_path):
    with pytest.raises(EmptyAudio):
        measure(write(tmp_path / "empty.wav", np.zeros(0)))


def test_a_stretch_of_evidence_is_that_of_a_recording_of_its_own():
    whole = measure_blocks([struck(NA, 12.0).astype(np.float32)])
    part = whole.between(4.0, 9.0)
    assert part.duration_s == pytest.approx(5.0)
    assert np.shares_memory(part.strokes, whole.strokes)
    first = round(4.0 / whole.hop_s)
    np.testing.assert_array_equal(part.treble, whole.treble[first : first + len(part.treble)])
    for name in ("treble", "level_db"):
        assert len(getattr(part, name)) * part.hop_s == pytest.approx(5.0, abs=whole.hop_s)
    assert len(part.chroma) * part.chroma_hop_s == pytest.approx(5.0, abs=2 * whole.chroma_hop_s)
    assert len(part.strokes) * part.stroke_hop_s == pytest.approx(5.0, abs=2 * whole.stroke_hop_s)
    assert len(part.texture) * part.texture_hop_s == pytest.approx(5.0, abs=2 * whole.texture_hop_s)
    end = whole.between(4.0, 99.0)
    assert end.duration_s == pytest.approx(whole.duration_s - 4.0)
    assert len(end.strokes) == len(whole.strokes) - round(4.0 / whole.stroke_hop_s)
    everything = whole.between(0.0, whole.duration_s)
    assert len(everything.texture) == len(whole.texture)
