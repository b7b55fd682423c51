"""Small sounds of known content for the tests of ingest: strokes, plucks, a drone, and files in real containers."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from ingest.theka_profile import tone as tone_of
from sample_data import tabla, tools
from sample_data.events import Action, Stroke
from theory.bols import strokes
from theory.talas import Tala

RATE_HZ = 22050
Sound = NDArray[np.float64]


def put(sound: Sound, at_s: float, part: Sound) -> None:
    """Add a part to a sound in place; what would lie outside is left out."""
    first = round(at_s * RATE_HZ)
    if 0 <= first < len(sound):
        room = sound[first : first + len(part)]
        room += part[: len(room)]


def tone(hz: float, seconds: float, decay_s: float = np.inf) -> Sound:
    """A sine that begins at once and dies away."""
    time_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return np.sin(2 * np.pi * hz * time_s) * np.exp(-time_s / decay_s)


def dayan(seed: int = 0) -> Sound:
    """A stroke on the dayan: a click of noise without bass (differences of differences) and a ring."""
    noise = np.diff(np.random.default_rng(seed).normal(size=RATE_HZ // 4 + 2), n=2) / 2
    click = noise * np.exp(-np.arange(RATE_HZ // 4) / (0.004 * RATE_HZ))
    return 0.5 * click + 0.5 * tone(415.0, 0.25, 0.08) + 0.3 * tone(1240.0, 0.25, 0.05)


def bayan() -> Sound:
    """A stroke on the bayan: a low ring."""
    return tone(95.0, 0.4, 0.15) + 0.3 * tone(190.0, 0.4, 0.08)


def theka(tala: Tala, matra_s: NDArray[np.float64], duration_s: float, first_matra: int = 1) -> Sound:
    """Play the theka with matra ``first_matra`` at ``matra_s[0]``, the next at ``matra_s[1]`` and so on."""
    sound = np.zeros(round(duration_s * RATE_HZ))
    length_s = np.append(np.diff(matra_s), np.diff(matra_s)[-1:])
    for count, (begin_s, lasts_s) in enumerate(zip(matra_s, length_s, strict=True)):
        number = (count + first_matra - 1) % tala.matras
        for stroke in strokes(tala.theka):
            share = float(stroke.onset - number)
            if 0 <= share < 1:
                at_s = begin_s + share * lasts_s
                put(sound, at_s, _struck(stroke.bol.bass, stroke.bol.treble, tone_of(stroke.bol), count % 5))
    return sound


@cache
def _struck(bass: Action, treble: Action, colour: str, seed: int) -> Sound:
    """A stroke on the sample pair of tabla."""
    stroke = Stroke(0.0, bass, treble, colour, 0.8)
    parts = [tabla.dayan_sound(stroke, 277.0, (1, seed)), tabla.bayan_sound(stroke, (2, seed))]
    sound = np.zeros(max(len(part) for part in parts))
    for part in parts:
        sound[: len(part)] += 0.9 * part
    return np.asarray(soxr.resample(sound, tools.RATE_HZ, RATE_HZ), dtype=np.float64)


def tanpura(sa_hz: float, first_string: Fraction, duration_s: float, seed: int = 0) -> Sound:
    """First string, Sa, Sa, low Sa, one after the other; ``first_string`` is its ratio to the low Sa."""
    random = np.random.default_rng(seed)
    ratios = [float(first_string), 2.0, 2.0, 1.0]
    sound = np.zeros(round(duration_s * RATE_HZ))
    partials = np.arange(1, 31)
    bloom = np.exp(-((np.log(partials) - 1.2) ** 2) / 2) * partials**-0.6
    string_s = 5.0
    strings = []
    for ratio in ratios:
        hz = sa_hz / 2 * ratio * partials
        heard = hz < 9000
        phase = random.uniform(0, 2 * np.pi, len(partials))
        time_s = np.arange(round(string_s * RATE_HZ)) / RATE_HZ
        waves = np.sin(2 * np.pi * hz[heard, None] * time_s + phase[heard, None])
        strings.append(bloom[heard] @ waves * np.exp(-time_s * 0.5) * np.minimum(1, time_s / 0.02))
    for count, at_s in enumerate(np.arange(0, duration_s, 0.9)):
        put(sound, at_s, 0.05 * strings[count % 4])
    return sound


def plucks(hz: NDArray[np.float64], at_s: NDArray[np.float64], duration_s: float) -> Sound:
    """Plucked notes of five partials."""
    sound = np.zeros(round(duration_s * RATE_HZ))
    for pitch_hz, time_s in zip(hz, at_s, strict=True):
        note = sum(tone(pitch_hz * partial, 0.8, 0.35 / partial) / partial for partial in range(1, 6))
        put(sound, time_s, 0.15 * np.asarray(note))
    return sound


def write(path: Path, sound: Sound, rate_hz: int = RATE_HZ) -> Path:
    """Write WAV, FLAC, OGG or MP3 through libsndfile, by the name's ending."""
    soundfile.write(path, sound, rate_hz)
    return path


def write_m4a(path: Path, sound: Sound, rate_hz: int = 44100, with_picture: bool = False) -> Path:
    """Write AAC in an MP4 container through FFmpeg, with a black picture beside it if asked for."""
    import av

    with av.open(str(path), "w", format="mp4") as container:
        stream = container.add_stream("aac", rate=rate_hz, layout="mono")
        if with_picture:
            picture = container.add_stream("mpeg4", rate=5)
            picture.width, picture.height, picture.pix_fmt = 64, 64, "yuv420p"
            black = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")
            for count in range(int(len(sound) / rate_hz * 5)):
                black.pts = count
                container.mux(picture.encode(black))
            container.mux(picture.encode(None))
        frame = av.AudioFrame.from_ndarray(sound[None].astype(np.float32), format="fltp", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = rate_hz, 0, Fraction(1, rate_hz)
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path
