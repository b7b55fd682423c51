"""The recordings are present, small and decodable, their sams audible; the synthesis gives the same every time."""

import csv
import tomllib
from dataclasses import replace

import numpy as np
import pytest
import soundfile
from scipy.signal import butter, sosfiltfilt

from sample_data import mandolin, room, tabla
from sample_data.desh import DESH
from sample_data.events import Pluck, Stroke
from sample_data.playing import play
from sample_data.render import HERE
from sample_data.tools import RATE_HZ

CONCERTS = tomllib.loads((HERE / "concerts.toml").read_text(encoding="utf-8"))["concert"]


@pytest.fixture(scope="module", params=CONCERTS, ids=lambda concert: concert["name"])
def recording(request):
    sound, rate_hz = soundfile.read(HERE / request.param["audio"], dtype="float32", always_2d=True)
    assert rate_hz == RATE_HZ
    return request.param, sound


def test_the_recordings_together_are_under_six_megabytes():
    assert sum((HERE / concert["audio"]).stat().st_size for concert in CONCERTS) < 6_000_000


def test_a_recording_decodes_to_stereo_of_the_stated_length_and_peaks_near_full_scale(recording):
    concert, sound = recording
    assert sound.shape[1] == 2
    assert abs(sound.shape[0] / RATE_HZ - concert["duration_s"]) < 0.01
    # rendered to -1 dB; the lossy coding moves single peaks by some tenths of a decibel
    assert -2.0 < 20 * np.log10(np.abs(sound).max()) < 0.0


def test_every_sam_lies_on_a_stroke_of_the_drums_or_the_mandolin(recording):
    """Energy rises at sam in at least one of the three bands, by a factor of two: any listener marks it there."""
    concert, sound = recording
    mono = sound.mean(axis=1)
    with (HERE / concert["sams"]).open(encoding="utf-8", newline="") as file:
        sams_s = [float(row["sam_s"]) for row in csv.DictReader(file)]
    rises_db = np.array([_rises_db(mono, sams_s, *band) for band in ((40, 140), (250, 1200), (2000, 7000))])
    assert rises_db.max(axis=0).min() > 3.0
    # the bayan rings at nearly every sam
    assert np.median(rises_db[0]) > 10.0


def test_the_drone_lies_about_twenty_decibels_below_the_mandolin():
    part = _excerpt(play(DESH), 30.0, 6.0)
    mandolin_part = replace(part, strokes=(), drone_ratios=())
    drone_part = replace(part, plucks=(), strokes=(), duration_s=60.0)
    levels_db = [_level_db(room.dry_mix(each, DESH.seed, 6.0)) for each in (mandolin_part, drone_part)]
    assert 17.0 < levels_db[0] - levels_db[1] < 23.0


def test_rendering_again_gives_identical_samples():
    rendition = play(DESH)
    part = _excerpt(rendition, rendition.tihais[0].palla_s[0] - 0.2, 3.0)
    assert len(part.plucks) > 3
    assert len(part.strokes) > 5
    assert np.array_equal(room.sound_of(part, DESH.seed), room.sound_of(part, DESH.seed))


def test_the_recording_kept_is_what_the_script_renders():
    sound, _ = soundfile.read(HERE / "desh_teental.ogg", frames=6 * RATE_HZ, dtype="float32")
    rendered = room.sound_of(play(DESH).part, DESH.seed, until_s=6.0)
    for ear in (0, 1):
        # up to gain and lossy coding
        assert np.corrcoef(sound[:, ear], rendered[:, ear])[0, 1] > 0.98


@pytest.mark.parametrize("hz", [220.0, 293.7, 587.3])
def test_a_pluck_has_the_pitch_asked_for_and_rises_within_five_milliseconds(hz):
    sound = mandolin.pluck_sound(Pluck(0.0, 1.5, hz, 0.9), (1, 2, 3))
    spectrum = np.abs(np.fft.rfft(sound[RATE_HZ // 10 : RATE_HZ] * np.hanning(RATE_HZ - RATE_HZ // 10), 4 * RATE_HZ))
    near = slice(int(0.9 * hz * 4), int(1.1 * hz * 4))
    found_hz = (near.start + spectrum[near].argmax()) / 4
    # the paired strings lie some cents apart on either side
    assert abs(1200 * np.log2(found_hz / hz)) < 6
    envelope = np.abs(sound[: int(0.02 * RATE_HZ)])
    assert np.flatnonzero(envelope > 0.3 * envelope.max())[0] / RATE_HZ < 0.005


def test_a_ringing_bayan_is_low_and_glides_while_a_dead_one_is_short():
    rings = tabla.bayan_sound(Stroke(0.0, "rings", "none", "rim", 0.9, bend=0.3), (1,))
    dead = tabla.bayan_sound(Stroke(0.0, "dead", "none", "rim", 0.9), (1,))
    early, late = (_strongest_hz(rings, at_s) for at_s in (0.06, 0.32))
    assert 60 < early < 110
    assert late > early * 1.12
    assert _lasts_s(dead) < 0.08 < 0.25 < _lasts_s(rings)


def test_a_drum_that_is_not_struck_is_silent():
    stroke = Stroke(0.0, "none", "none", "rim", 0.9)
    assert tabla.bayan_sound(stroke, (1,)).size == tabla.dayan_sound(stroke, 294.0, (1,)).size == 0


def test_the_ringing_rim_stroke_is_tuned_to_sa():
    sound = tabla.dayan_sound(Stroke(0.0, "none", "rings", "sur", 0.9), 294.5, (5,))
    assert abs(1200 * np.log2(_strongest_hz(sound, 0.05, length_s=0.5) / 294.5)) < 15


def _excerpt(rendition, from_s, length_s):
    """Some seconds of a part as a part of its own."""

    def moved(strokes):
        chosen = [stroke for stroke in strokes if from_s < stroke.onset_s < from_s + length_s]
        return tuple(replace(stroke, onset_s=stroke.onset_s - from_s) for stroke in chosen)

    part = rendition.part
    return replace(part, plucks=moved(part.plucks), strokes=moved(part.strokes), duration_s=length_s)


def _level_db(sound):
    return 20 * np.log10(np.sqrt(np.mean(sound**2)))


def _rises_db(mono, times_s, low_hz, high_hz):
    power = sosfiltfilt(butter(3, (low_hz, high_hz), btype="bandpass", fs=RATE_HZ, output="sos"), mono) ** 2
    found = []
    for at_s in times_s:
        here = int(at_s * RATE_HZ)
        before = power[here - int(0.060 * RATE_HZ) : here - int(0.015 * RATE_HZ)].mean()
        after = power[here - int(0.005 * RATE_HZ) : here + int(0.040 * RATE_HZ)].mean()
        found.append(10 * np.log10(after / before))
    return found


def _strongest_hz(sound, at_s, length_s=0.12):
    part = sound[int(at_s * RATE_HZ) : int((at_s + length_s) * RATE_HZ)]
    return np.abs(np.fft.rfft(part * np.hanning(part.size), 8 * RATE_HZ)).argmax() / 8


def _lasts_s(sound):
    """Until it stays 20 dB below its loudest."""
    loud = np.abs(sound) > 0.1 * np.abs(sound).max()
    return np.flatnonzero(loud)[-1] / RATE_HZ
