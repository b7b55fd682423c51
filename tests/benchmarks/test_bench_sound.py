"""The sound of bench concerts: onsets where the truth says, also after an MP3 pass; pitch as written."""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy.signal import correlate

from benchmarks.concerts.plan import ConcertPlan, SectionPlan, plan_concert
from benchmarks.concerts.recorded import RecordedTabla
from benchmarks.concerts.render import rendered_plan, through_mp3
from benchmarks.concerts.soundfont import SoundFont
from sample_data.events import Pluck, Stroke
from sample_data.tools import RATE_HZ
from tests.needs import tabla_samples


def short_plan(mp3_quality: float = -1.0) -> ConcertPlan:
    """A dadra of two avartans led by the mandolin of the sample data, with little room and noise."""
    section = SectionPlan("gat", 5.0, "dadra", (140.0, 150.0))
    return replace(plan_concert(6), sections=(section,), lead="mandolin", noise_db=-70.0, mp3_quality=mp3_quality)


def test_an_mp3_pass_leaves_every_sample_in_its_place() -> None:
    rng = np.random.default_rng(1)
    clicks = np.zeros((3 * RATE_HZ, 2), np.float32)
    for at in range(RATE_HZ // 3, len(clicks), RATE_HZ // 3):
        clicks[at : at + 400] += (
            0.5 * rng.standard_normal((400, 1)).astype(np.float32) * np.exp(-np.arange(400) / 80)[:, None]
        )
    coded = through_mp3(clicks, 0.3)
    assert coded.shape == clicks.shape
    likeness = correlate(coded[:, 0], clicks[:, 0], "same", "fft")
    assert abs(int(likeness.argmax()) - len(clicks) // 2) <= 1


@pytest.mark.samples
@pytest.mark.parametrize("treble", ["rings", "dead"])
@pytest.mark.parametrize("bass", ["rings", "dead", "none"])
def test_a_recorded_stroke_begins_at_once(bass: str, treble: str) -> None:
    tabla = RecordedTabla(150.0, 3, tabla_samples())
    for number, colour in enumerate(("rim", "sur", "open")):
        stroke = Stroke(0.0, bass, treble, colour, 1.0)  # type: ignore[arg-type]
        for sound in (tabla.dayan_sound(number, stroke), tabla.bayan_sound(number, stroke)):
            if sound.size:
                loud = np.abs(sound) > 0.1 * np.abs(sound).max()
                assert loud.argmax() < 0.012 * RATE_HZ  # a bass skin's first swing takes some milliseconds


@pytest.mark.samples
def test_the_dayan_is_tuned_to_sa() -> None:
    for sa_hz in (120.0, 150.0, 233.0):
        tabla = RecordedTabla(sa_hz, 1, tabla_samples())
        tin = tabla.dayan_sound(0, Stroke(0.0, "none", "rings", "sur", 1.0))
        spectrum = np.abs(np.fft.rfft(tin * np.hanning(tin.size), 1 << 18))
        found_hz = spectrum.argmax() * RATE_HZ / (1 << 18)
        cents = (1200 * np.log2(found_hz / sa_hz) + 600) % 1200 - 600
        assert abs(cents) < 25  # the recorded strokes lie 20 cents apart among themselves


@pytest.mark.samples
def test_a_concert_is_rendered_once_and_sounds_at_its_onsets(tmp_path: Path) -> None:
    tabla_samples()
    path, truth = rendered_plan(short_plan(), tmp_path)
    sound, rate_hz = soundfile.read(path)
    assert len(sound) == int(truth.duration_s * rate_hz)
    mono = sound.mean(axis=1)
    rises = []
    for onset_s in truth.stroke_s:
        at = round(onset_s * rate_hz)
        before, after = mono[at - 441 : at], mono[at : at + 441]
        rises.append(np.sum(np.diff(after) ** 2) > 1.5 * np.sum(np.diff(before) ** 2))
    assert np.mean(rises) > 0.9
    written = path.stat().st_mtime_ns
    again, same = rendered_plan(short_plan(), tmp_path)
    assert (again, same) == (path, truth)
    assert path.stat().st_mtime_ns == written
    assert not list(tmp_path.glob("*.part"))


def test_a_soundfont_pluck_has_the_pitch_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "sine.sf2"
    path.write_bytes(sine_soundfont(root=69, hz=440.0))
    voice = SoundFont(path, 0)
    for hz in (220.0, 300.0, 880.0):
        sound = voice.pluck_sound(Pluck(0.0, 1.0, hz, 0.8))
        steady = sound[RATE_HZ // 2 : RATE_HZ // 2 + 16384]
        spectrum = np.abs(np.fft.rfft(steady * np.hanning(steady.size), 1 << 18))
        found_hz = spectrum.argmax() * RATE_HZ / (1 << 18)
        assert abs(1200 * np.log2(found_hz / hz)) < 3  # cents; the loop of 100 periods is cut to whole samples


def sine_soundfont(root: int, hz: float) -> bytes:
    """The smallest soundfont: one looped sine for all keys, program 0."""
    count = round(100 * RATE_HZ / hz)
    wave = (20000 * np.sin(2 * np.pi * hz * np.arange(2 * count) / RATE_HZ)).astype("<i2").tobytes() + bytes(92)
    generators = struct.pack("<HhHhHH", 54, 1, 53, 0, 0, 0)
    chunks = {
        b"smpl": wave,
        b"phdr": struct.pack("<20sHHH12x", b"sine", 0, 0, 0) + struct.pack("<20sHHH12x", b"EOP", 0, 0, 1),
        b"pbag": struct.pack("<HHHH", 0, 0, 1, 0),
        b"pgen": struct.pack("<HhHh", 41, 0, 0, 0),
        b"inst": struct.pack("<20sH", b"sine", 0) + struct.pack("<20sH", b"EOI", 1),
        b"ibag": struct.pack("<HHHH", 0, 0, 2, 0),
        b"igen": generators,
        b"shdr": struct.pack("<20sIIIIIBbHH", b"sine", 0, 2 * count, 0, count, RATE_HZ, root, 0, 0, 1) + bytes(46),
    }
    body = b"".join(
        name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2) for name, data in chunks.items()
    )
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"sfbk" + body
