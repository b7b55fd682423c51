"""Decoding: any container, by its content, with time kept exactly and errors that say what to do."""

import numpy as np
import pytest
import soundfile

from ingest.decode import LONGEST_BLOCK, WORK_RATE_HZ, frame_blocks, mono_blocks, probe
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


def noise(seconds=4.0):
    return 0.1 * np.random.default_rng(1).normal(size=round(seconds * 44100))


@pytest.mark.parametrize("kind", ["flac", "mp3", "ogg", "wav", "m4a with its table first"])
def test_a_broken_tail_gives_what_came_before_it(tmp_path, kind):
    if kind.startswith("m4a"):
        path = table_first(write_m4a(tmp_path / "whole.m4a", noise(10)))
    else:
        path = write(tmp_path / f"whole.{kind}", noise(10), 44100)
    content = path.read_bytes()
    path.write_bytes(content[: len(content) * 6 // 10])
    assert 5 < len(decoded(path)) / WORK_RATE_HZ < 7


def table_first(path):
    """Write an M4A once more with its table of contents at the beginning."""
    import av

    with av.open(str(path)) as source:
        again = path.with_stem("first")
        with av.open(str(again), "w", format="mp4", options={"movflags": "faststart"}) as out:
            stream = source.streams.audio[0]
            target = out.add_stream_from_template(stream)
            for packet in source.demux(stream):
                if packet.dts is not None:
                    packet.stream = target
                    out.mux(packet)
    return again


def test_an_m4a_broken_off_before_its_table_of_contents_says_so(tmp_path):
    path = write_m4a(tmp_path / "whole.m4a", noise())
    path.write_bytes(path.read_bytes()[:20000])
    with pytest.raises(UnreadableAudio, match="breaks off before its table of contents"):
        probe(path)


def test_what_follows_a_damaged_stretch_of_flac_keeps_its_time(tmp_path):
    sound = noise(6.0)
    sound[: 44100 // 2] = 0
    late_s = 5.0
    sound[round((late_s - 0.3) * 44100) : round((late_s + 0.3) * 44100)] = 0
    sound[round(late_s * 44100) :][:441] = 0.9
    path = write(tmp_path / "damaged.flac", sound, 44100)
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 3000] = np.random.default_rng(2).bytes(3000)
    path.write_bytes(content)
    heard = decoded(path)
    assert len(heard) / WORK_RATE_HZ == pytest.approx(6.0, abs=0.001)
    assert onset_s(heard, late_s) == pytest.approx(late_s, abs=0.001)


@pytest.mark.parametrize("kind", ["wav", "flac"])
def test_a_file_whose_length_was_never_written_into_it_is_read_to_its_end(tmp_path, kind):
    """As a recorder leaves it that lost its power, or a program that wrote into a pipe."""
    path = write(tmp_path / f"cut.{kind}", noise(), 44100)
    content = bytearray(path.read_bytes())
    if kind == "wav":
        content[4:8] = bytes(4)
        at = content.index(b"data")
        content[at + 4 : at + 8] = bytes(4)
    else:  # the 36 bits of the first block's number of samples
        content[21] &= 0xF0
        content[22:26] = bytes(4)
    path.write_bytes(content)
    assert probe(path).duration_s == pytest.approx(4.0, abs=0.1)
    assert len(decoded(path)) / WORK_RATE_HZ == pytest.approx(4.0, abs=0.001)


@pytest.mark.parametrize("codec", ["aac", "ac3", "libmp3lame"])
def test_the_length_of_a_stream_without_a_table_of_contents_is_counted(tmp_path, codec):
    """The bit rate of the silence it begins with says nothing of the rest."""
    import av

    sound = np.concatenate([np.zeros(44100), noise(8.0)]).astype(np.float32)
    path = tmp_path / {"aac": "raw.aac", "ac3": "raw.ac3", "libmp3lame": "raw.mp3"}[codec]
    options = {"write_xing": "0"} if codec == "libmp3lame" else {}
    with av.open(str(path), "w", options=options) as out:
        stream = out.add_stream(codec, rate=44100, layout="mono", options={"q": "5"} if codec != "ac3" else {})
        frame = av.AudioFrame.from_ndarray(sound[None], format="fltp", layout="mono")
        frame.sample_rate = 44100
        fitting = av.AudioResampler("fltp", "mono", 44100, frame_size=stream.codec_context.frame_size)
        stream.codec_context.format = "fltp"
        for piece in [*fitting.resample(frame), *fitting.resample(None)]:
            out.mux(stream.encode(piece))
        out.mux(stream.encode(None))
    # an encoder's delay and the filling of the last frames, which nothing in the file tells of
    assert probe(path).duration_s == pytest.approx(9.0, abs=0.1)
    assert len(decoded(path)) / WORK_RATE_HZ == pytest.approx(probe(path).duration_s, abs=0.06)


@pytest.mark.parametrize("kind", ["ogg", "mp3"])
def test_streams_that_follow_each_other_in_one_file_are_all_read(tmp_path, kind):
    """As sides that were joined by putting one file behind the other."""
    whole = b"".join(write(tmp_path / f"side.{kind}", clicks(44100), 44100).read_bytes() for _ in range(2))
    path = tmp_path / f"both.{kind}"
    path.write_bytes(whole)
    heard = decoded(path)
    # an MP3's second encoder delay (1105 samples) and the frames' filling stay in: nothing in the file tells of them
    assert len(heard) / WORK_RATE_HZ == pytest.approx(4.0, abs=0.1)
    assert np.abs(heard[-round(1.0 * WORK_RATE_HZ) :]).max() > 0.5


def test_a_broadcast_that_changes_its_channels_is_read_through(tmp_path):
    stereo, mono = tmp_path / "a.mp3", tmp_path / "b.mp3"
    write(stereo, np.stack([clicks(44100)] * 2, axis=1), 44100)
    write(mono, clicks(22050), 22050)
    path = tmp_path / "both.mp3"
    path.write_bytes(stereo.read_bytes() + mono.read_bytes())
    heard = decoded(path)
    assert len(heard) / WORK_RATE_HZ == pytest.approx(4.0, abs=0.15)
    assert np.abs(heard[-round(1.0 * WORK_RATE_HZ) :]).max() > 0.5


def test_a_file_that_may_not_be_read_is_told(tmp_path, monkeypatch):
    path = write(tmp_path / "locked.wav", noise(), 44100)
    monkeypatch.setattr("ingest.decode.os.access", lambda *_: False)  # whoever runs the tests may be root
    with pytest.raises(UnreadableAudio, match="may not read it"):
        probe(path)


def test_a_pipe_is_no_sound_file(tmp_path):
    import os

    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(UnreadableAudio, match="a device or a pipe"):
        probe(tmp_path / "pipe")


@pytest.mark.parametrize("channels", [3, 6, 16])
def test_more_than_two_channels_are_averaged(tmp_path, channels):
    sound = np.stack([np.full(4410, 0.1 * (number % 5)) for number in range(channels)], axis=1)
    path = write(tmp_path / "many.wav", sound, 22050)
    np.testing.assert_allclose(decoded(path), sound.mean(axis=1), rtol=0, atol=2 / 32768)  # 16 bits


def test_many_channels_and_high_rates_do_not_make_blocks_longer(tmp_path):
    path = write(tmp_path / "many.wav", np.zeros((96000, 64)), 96000)
    blocks = [frames.size for frames, _ in frame_blocks(path)]
    assert max(blocks) <= LONGEST_BLOCK
    assert sum(blocks) == 96000 * 64


@pytest.mark.parametrize("called", ["notes.wav", "notes.mp3", "notes.flac", "notes.m4a"])
def test_a_text_file_called_sound_is_unreadable(tmp_path, called):
    path = tmp_path / called
    path.write_text("Dha Dhin Dhin Dha\n" * 50)
    with pytest.raises(UnreadableAudio, match=f"{called}' cannot be read as sound.*\nGive a WAV"):
        probe(path)
    with pytest.raises(UnreadableAudio):
        list(mono_blocks(path))


@pytest.mark.parametrize("called", ["noise.wav", "noise.mp3", "noise"])
def test_bytes_of_no_meaning_are_unreadable(tmp_path, called):
    path = tmp_path / called
    path.write_bytes(np.random.default_rng(4).bytes(100_000))
    with pytest.raises(UnreadableAudio, match="cannot be read as sound"):
        probe(path)


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
