"""The listening copy: compact sources byte for byte, the others without loss, of a video only the sound."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from annotate.sound import keep_copy
from ingest.decode import probe

RATE_HZ = 22050


def a_tone(seconds: float = 1.0, channels: int = 2) -> np.ndarray:
    tone = 0.3 * np.sin(2 * np.pi * 220 * np.arange(int(seconds * RATE_HZ)) / RATE_HZ)
    return np.stack([tone / (channel + 1) for channel in range(channels)], axis=1)


def make_video(path: Path, codec: str, *, picture: bool) -> None:
    with av.open(str(path), "w") as out:
        sound = out.add_stream(codec, rate=RATE_HZ)
        sound.layout = "mono"
        images = out.add_stream("mpeg4", rate=10) if picture else None
        if images is not None:
            images.width = images.height = 32
            images.pix_fmt = "yuv420p"
            for number in range(10):
                image = av.VideoFrame.from_ndarray(np.full((32, 32, 3), 20 * number, np.uint8), format="rgb24")
                out.mux(images.encode(image))
            out.mux(images.encode(None))
        samples = (a_tone(1.0, 1).T * 32767).astype(np.int16)
        frame = av.AudioFrame.from_ndarray(samples, format="s16", layout="mono")
        frame.rate = RATE_HZ
        resampler = av.AudioResampler(
            format=sound.format, layout="mono", rate=RATE_HZ, frame_size=sound.frame_size or None
        )
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            out.mux(sound.encode(piece))
        out.mux(sound.encode(None))


@pytest.mark.parametrize("suffix", [".ogg", ".flac", ".mp3"])
def test_a_compact_file_is_kept_byte_for_byte(tmp_path: Path, suffix: str) -> None:
    source = tmp_path / f"tape{suffix}"
    soundfile.write(source, a_tone(), RATE_HZ)
    copy = keep_copy(probe(source), tmp_path, "evening")
    assert copy.name == f"evening{suffix}"
    assert copy.read_bytes() == source.read_bytes()


@pytest.mark.parametrize(
    ("subtype", "kept"), [("PCM_16", "PCM_16"), ("PCM_24", "PCM_24"), ("FLOAT", "PCM_24"), ("PCM_U8", "PCM_16")]
)
def test_wav_becomes_flac_without_loss(tmp_path: Path, subtype: str, kept: str) -> None:
    source = tmp_path / "tape.wav"
    soundfile.write(source, a_tone(), RATE_HZ, subtype)
    copy = keep_copy(probe(source), tmp_path, "evening")
    assert (copy.name, soundfile.info(copy).subtype) == ("evening.flac", kept)
    before, after = soundfile.read(source)[0], soundfile.read(copy)[0]
    exact = subtype.startswith("PCM")
    assert np.abs(before - after).max() <= (0 if exact else 2**-23)  # a float has no 24-bit value of its own


def test_the_sound_of_a_video_is_taken_out_as_it_is(tmp_path: Path) -> None:
    make_video(tmp_path / "film.mp4", "aac", picture=True)
    copy = keep_copy(probe(tmp_path / "film.mp4"), tmp_path, "evening")
    info = probe(copy)
    assert (copy.name, info.codec) == ("evening.m4a", "aac")
    assert info.duration_s == pytest.approx(1.0, abs=0.1)  # an AAC frame is 46 ms here
    with av.open(str(copy)) as container:
        assert not container.streams.video


def test_sound_that_no_small_container_takes_becomes_flac(tmp_path: Path) -> None:
    make_video(tmp_path / "film.mkv", "pcm_s16le", picture=True)
    copy = keep_copy(probe(tmp_path / "film.mkv"), tmp_path, "evening")
    assert copy.name == "evening.flac"
    assert soundfile.info(copy).duration == pytest.approx(1.0, abs=1e-3)
    assert np.abs(soundfile.read(copy)[0] - a_tone(1.0, 1)[:, 0]).max() < 1e-3


def test_an_m4a_without_picture_is_kept_byte_for_byte(tmp_path: Path) -> None:
    make_video(tmp_path / "tape.m4a", "aac", picture=False)
    copy = keep_copy(probe(tmp_path / "tape.m4a"), tmp_path, "evening")
    assert copy.name == "evening.m4a"
    assert copy.read_bytes() == (tmp_path / "tape.m4a").read_bytes()
