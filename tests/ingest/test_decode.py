"""Decoding: any container, by its content, with time kept exactly and errors that say what to do."""

import numpy as np
import pytest
import soundfile

from ingest.decode import WORK_RATE_HZ, mono_blocks, probe
from ingest.errors import EmptyAudio, UnreadableAudio
from tests.ingest.sounds import tone, write, write_m4a

CLICKS_S = (0.5, 1.0, 1.5)


def clicks(rate_hz):
    sound = np.zeros(2 * rate_hz)
    for at_s in CLICKS_S:
        first = round(at_s * rate_hz)
        sound[first : first + rate_hz // 100] = 0.8 * np.sin(2 * np.pi * 1000 * np.arange(rate_hz // 100) / rate_hz)
    return sound


def decoded(path, **options):
    return np.concatenate(list(mono_blocks(path, **options)))


def onset_s(sound, near_s):
    part = slice(round((near_s - 0.1) * WORK_RATE_HZ), round((near_s + 0.1) * WORK_RATE_HZ))
    return part.start / WORK_RATE_HZ + np.flatnonzero(np.abs(sound[part]) > 0.3)[0] / WORK_RATE_HZ


@pytest.mark.parametrize("kind", ["wav", "flac", "ogg", "mp3", "m4a", "mp4 with a picture"])
def test_every_container_gives_the_same_length_and_the_same_moments(tmp_path, kind):
    if kind == "m4a":
        path = write_m4a(tmp_path / "clicks.m4a", clicks(44100))
    elif kind == "mp4 with a picture":
        path = write_m4a(tmp_path / "clicks.mp4", clicks(44100), with_picture=True)
    else:
        path = write(tmp_path / f"clicks.{kind}", clicks(44100), 44100)
    sound = decoded(path)
    # AAC comes in frames of 1024 samples, so up to 23 ms of silence may be added at the end.
    assert len(sound) / WORK_RATE_HZ == pytest.approx(2.0, abs=0.03)
    for at_s in CLICKS_S:
        # a quarter of the click's period (0.25 ms) plus what lossy codecs smear before an attack
        assert onset_s(sound, at_s) == pytest.approx(at_s, abs=0.003)


@pytest.mark.parametrize("kind", ["wav", "flac", "ogg", "mp3", "m4a"])
def test_the_block_size_has_no_influence_on_the_samples(tmp_path, kind):
    sound = clicks(44100)
    path = tmp_path / f"clicks.{kind}"
    path = write_m4a(path, sound) if kind == "m4a" else write(path, sound, 44100)
    np.testing.assert_array_equal(decoded(path, block_s=0.037), decoded(path, block_s=10.0))


@pytest.mark.parametrize("rate_hz", [8000, 22050, 44100, 48000, 96000, 192000])
def test_every_rate_is_brought_to_the_working_rate(tmp_path, rate_hz):
    path = write(tmp_path / "tone.wav", 0.5 * np.sin(2 * np.pi * 440 * np.arange(rate_hz) / rate_hz), rate_hz)
    sound = decoded(path)
    assert len(sound) == pytest.approx(WORK_RATE_HZ, abs=2)
    middle = sound[5000:15000]
    assert np.abs(np.fft.rfft(middle * np.hanning(len(middle)))).argmax() * WORK_RATE_HZ / len(middle) == pytest.approx(
        440, abs=WORK_RATE_HZ / len(middle)
    )


def test_the_channels_are_averaged(tmp_path):
    left, right = tone(440, 0.2), tone(660, 0.2)
    path = write(tmp_path / "stereo.flac", np.stack([left, right], axis=1) * 0.5)
    # 16-bit samples: steps of 1/32768
    np.testing.assert_allclose(decoded(path), (left + right) / 4, rtol=0, atol=2 / 32768)


def test_24_bit_and_float_samples_are_read(tmp_path):
    sound = 0.5 * tone(440, 0.2)
    for subtype in ("PCM_24", "FLOAT"):
        soundfile.write(tmp_path / "deep.wav", sound, 22050, subtype=subtype)
        np.testing.assert_allclose(decoded(tmp_path / "deep.wav"), sound, rtol=0, atol=1e-6)


def test_what_is_not_a_number_becomes_silence(tmp_path):
    sound = np.full(1000, 0.5, np.float32)
    sound[100] = np.nan
    soundfile.write(tmp_path / "nan.wav", sound, 22050, subtype="FLOAT")
    assert decoded(tmp_path / "nan.wav")[100] == 0


@pytest.mark.parametrize(("real", "called"), [("flac", "wav"), ("mp3", "ogg"), ("wav", "mp3"), ("m4a", "wav")])
def test_a_wrong_extension_does_no_harm(tmp_path, real, called):
    sound = clicks(44100)
    right = tmp_path / f"right.{real}"
    write_m4a(right, sound) if real == "m4a" else write(right, sound, 44100)
    wrong = right.rename(tmp_path / f"wrong.{called}")
    assert len(decoded(wrong)) / WORK_RATE_HZ == pytest.approx(2.0, abs=0.03)


def test_probe_tells_what_the_file_is(tmp_path):
    info = probe(write(tmp_path / "two.flac", np.zeros((44100, 2)), 44100))
    assert (info.duration_s, info.rate_hz, info.channels, info.container, info.codec) == (1, 44100, 2, "flac", "pcm_16")
    info = probe(write_m4a(tmp_path / "one.m4a", clicks(44100)))
    assert (info.duration_s, info.rate_hz, info.channels, info.codec) == (2.0, 44100, 1, "aac")


def test_a_broken_tail_gives_what_came_before_it(tmp_path):
    for kind in ("flac", "mp3"):
        random = np.random.default_rng(1)
        path = write(tmp_path / f"whole.{kind}", 0.1 * random.normal(size=10 * 44100), 44100)
        content = path.read_bytes()
        path.write_bytes(content[: len(content) * 6 // 10])
        assert 5 < len(decoded(path)) / WORK_RATE_HZ < 7


def test_a_text_file_called_wav_is_unreadable(tmp_path):
    path = tmp_path / "notes.wav"
    path.write_text("Dha Dhin Dhin Dha")
    with pytest.raises(UnreadableAudio, match=r"notes\.wav' cannot be read as sound.*\nGive a WAV"):
        probe(path)
    with pytest.raises(UnreadableAudio):
        list(mono_blocks(path))


def test_a_missing_file_and_a_folder_are_told_apart(tmp_path):
    with pytest.raises(UnreadableAudio, match="no such file"):
        probe(tmp_path / "missing.wav")
    with pytest.raises(UnreadableAudio, match="folder"):
        probe(tmp_path)


def test_a_picture_without_sound_is_unreadable(tmp_path):
    import av

    path = tmp_path / "silent.mp4"
    with av.open(str(path), "w") as container:
        picture = container.add_stream("mpeg4", rate=5)
        picture.width, picture.height, picture.pix_fmt = 64, 64, "yuv420p"
        frame = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")
        container.mux(picture.encode(frame))
        container.mux(picture.encode(None))
    with pytest.raises(UnreadableAudio, match="no sound stream"):
        probe(path)


def test_a_file_of_zero_length_and_one_of_no_samples_are_empty(tmp_path):
    nothing = tmp_path / "nothing.wav"
    nothing.touch()
    with pytest.raises(EmptyAudio, match="holds no sound"):
        probe(nothing)
    with pytest.raises(EmptyAudio):
        probe(write(tmp_path / "header.wav", np.zeros(0)))
