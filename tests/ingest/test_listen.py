"""Listening: one pass gives evidence, waveform and a copy in which every moment keeps its time."""

import threading
import tracemalloc
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from ingest.decode import WORK_RATE_HZ, mono_blocks, probe
from ingest.errors import EmptyAudio, IngestError, StemsDiffer, UnreadableAudio
from ingest.levels import FULL_SCALE
from ingest.listen import Sound, blocks_of, listen
from ingest.listening_copy import CopyWriter, carry_over
from ingest.measure import measure_blocks
from ingest.stroke_chances import STROKE_KINDS
from tests.ingest.sounds import bayan, dayan, put, tone, write

CLICKS_S = (0.4, 1.1, 2.3)
TOLERANCE_S = 0.001
"""A quarter of the click's period (0.25 ms) and two samples of rounding; Matroska counts in milliseconds, so that its
Opus moves by up to half of one. Measured: 0.1 ms, and 0.5 ms out of Matroska."""


def clicks(rate_hz, at_s=CLICKS_S, length_s=3.0):
    """Silence with clicks of 10 ms at 1 kHz."""
    sound = np.zeros(round(length_s * rate_hz))
    click = 0.8 * np.sin(2 * np.pi * 1000 * np.arange(rate_hz // 100) / rate_hz)
    for one_s in at_s:
        first = round(one_s * rate_hz)
        sound[first : first + len(click)] = click
    return sound


def heard_clicks_s(samples, rate_hz=WORK_RATE_HZ):
    """Where the sound rises after half a tenth of silence."""
    loud_s = np.flatnonzero(np.abs(samples) > 0.25) / rate_hz
    return loud_s[np.diff(loud_s, prepend=-1.0) > 0.05]


def samples_of(path):
    return np.concatenate(list(mono_blocks(path)))


def length_s(path):
    return len(samples_of(path)) / WORK_RATE_HZ


def film(path, codec, rate_hz=44100, delay_s=0.0, with_picture=True):
    """Write the clicks in a container by its ending, the sound ``delay_s`` after the picture."""
    import av

    with av.open(str(path), "w") as out:
        sound = out.add_stream(codec, rate=rate_hz, layout="mono")
        picture = None
        if with_picture:
            picture = out.add_stream("mpeg4", rate=5)
            picture.width, picture.height, picture.pix_fmt = 64, 64, "yuv420p"
            black = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")
            for count in range(15):
                black.pts = count
                out.mux(picture.encode(black))
            out.mux(picture.encode(None))
        frame = av.AudioFrame.from_ndarray(clicks(rate_hz)[None].astype(np.float32), format="fltp", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = rate_hz, 0, Fraction(1, rate_hz)
        sizes = {"frame_size": sound.codec_context.frame_size} if sound.codec_context.frame_size else {}
        fitting = av.AudioResampler(sound.codec_context.format, "mono", rate_hz, **sizes)
        for piece in [*fitting.resample(frame), *fitting.resample(None)]:
            piece.pts += round(delay_s * rate_hz)
            out.mux(sound.encode(piece))
        out.mux(sound.encode(None))
    return path


def packets(path):
    import av

    with av.open(str(path)) as container:
        return [bytes(packet) for packet in container.demux(audio=0) if packet.size]


@pytest.mark.parametrize(
    ("name", "rate_hz", "subtype"),
    [
        ("plain.wav", 44100, "PCM_16"),
        ("deep.wav", 96000, "PCM_24"),
        ("floating.wav", 48000, "FLOAT"),
        ("fine.flac", 192000, "PCM_24"),
        ("plain.flac", 22050, "PCM_16"),
        ("telephone.wav", 8000, "PCM_16"),
        ("plain.ogg", 44100, "VORBIS"),
        ("plain.mp3", 44100, "MPEG_LAYER_III"),
    ],
)
def test_a_click_keeps_its_time_in_the_copy(tmp_path, name, rate_hz, subtype):
    soundfile.write(tmp_path / name, clicks(rate_hz), rate_hz, subtype)
    heard = listen(Sound((tmp_path / name,)), tmp_path, "copy")
    assert heard.copy == tmp_path / "copy.opus"
    copy = probe(heard.copy)
    assert (copy.codec, copy.rate_hz, copy.channels) == ("opus", 48000, 1)
    assert length_s(heard.copy) == pytest.approx(heard.evidence.duration_s, abs=0.001)
    np.testing.assert_allclose(heard_clicks_s(samples_of(heard.copy)), CLICKS_S, rtol=0, atol=TOLERANCE_S)
    np.testing.assert_allclose(heard_clicks_s(samples_of(tmp_path / name)), CLICKS_S, rtol=0, atol=TOLERANCE_S)


@pytest.mark.parametrize("delay_s", [0.0, 0.7])
@pytest.mark.parametrize(
    ("name", "codec", "rate_hz", "copied"),
    [
        ("film.mp4", "aac", 44100, "copy.m4a"),
        ("film.mkv", "aac", 48000, "copy.m4a"),
        ("film.mkv", "libopus", 48000, "copy.opus"),
        ("film.mkv", "pcm_s16le", 44100, "copy.opus"),
        ("film.avi", "libmp3lame", 44100, "copy.opus"),
        ("film.ts", "aac", 44100, "copy.m4a"),
    ],
)
def test_the_sound_of_a_film_keeps_its_time_from_its_own_first_moment(tmp_path, name, codec, rate_hz, copied, delay_s):
    path = film(tmp_path / name, codec, rate_hz, delay_s)
    heard = listen(Sound((path,)), tmp_path, "copy")
    assert heard.copy.name == copied
    in_the_film, in_the_copy = heard_clicks_s(samples_of(path)), heard_clicks_s(samples_of(heard.copy))
    np.testing.assert_allclose(in_the_copy, in_the_film, rtol=0, atol=TOLERANCE_S)
    assert len(in_the_film) == len(CLICKS_S)
    assert probe(heard.copy).duration_s == pytest.approx(heard.evidence.duration_s, abs=0.05)  # a frame of AAC


@pytest.mark.parametrize(("name", "codec"), [("tape.m4a", "aac"), ("tape.opus", "libopus"), ("tape.webm", "libopus")])
def test_what_a_browser_plays_exactly_is_not_encoded_again(tmp_path, name, codec):
    path = film(tmp_path / name, codec, 48000, with_picture=False)
    heard = listen(Sound((path,)), tmp_path, "copy")
    assert packets(heard.copy) == packets(path)
    np.testing.assert_allclose(heard_clicks_s(samples_of(heard.copy)), CLICKS_S, rtol=0, atol=TOLERANCE_S)


def test_a_sound_whose_own_clock_is_wrong_is_encoded_again(tmp_path, monkeypatch):
    path = film(tmp_path / "tape.m4a", "aac", with_picture=False)
    info = probe(path)
    assert carry_over(info, info.duration_s + 0.2, tmp_path, "copy") is None
    assert sorted(tmp_path.iterdir()) == [path]
    monkeypatch.setattr("ingest.listen.carry_over", lambda info, heard_s, *where: carry_over(info, heard_s + 1, *where))
    heard = listen(Sound((path,)), tmp_path, "copy")
    assert heard.copy.name == "copy.opus"
    np.testing.assert_allclose(heard_clicks_s(samples_of(heard.copy)), CLICKS_S, rtol=0, atol=TOLERANCE_S)


@pytest.mark.parametrize(("channels", "kept"), [(1, 1), (2, 2), (4, 1), (6, 1)])
def test_the_copy_has_the_channels_of_a_stereo_sound_and_the_mean_of_more(tmp_path, channels, kept):
    sound = np.stack([clicks(44100) * (number + 1) / channels for number in range(channels)], axis=1)
    write(tmp_path / "many.wav", sound, 44100)
    heard = listen(Sound((tmp_path / "many.wav",)), tmp_path, "copy")
    copy, _ = soundfile.read(heard.copy, always_2d=True)
    assert copy.shape[1] == kept
    loudest = [0.8 * (number + 1) / channels for number in range(channels)]
    expected = loudest if channels <= 2 else [np.mean(loudest)]
    # a lossy codec: a click's loudness within a fifth
    np.testing.assert_allclose(np.abs(copy).max(axis=0), expected, rtol=0.2)


def test_files_that_follow_each_other_make_one_recording_whatever_their_rates(tmp_path):
    sides = (("a.wav", 44100, 1), ("b.flac", 48000, 2), ("c.mp3", 22050, 1), ("d.wav", 44100, 2))
    for name, rate_hz, channels in sides:
        write(tmp_path / name, np.repeat(clicks(rate_hz)[:, None], channels, axis=1), rate_hz)
    sound = Sound(tuple(tmp_path / name for name, _, _ in sides))
    heard = listen(sound, tmp_path, "copy")
    expected = [3.0 * side + at_s for side in range(4) for at_s in CLICKS_S]
    assert heard.evidence.duration_s == pytest.approx(12.0, abs=0.001)
    for samples in (np.concatenate(list(blocks_of(sound))), samples_of(heard.copy)):
        np.testing.assert_allclose(heard_clicks_s(samples), expected, rtol=0, atol=TOLERANCE_S)
    assert probe(heard.copy).channels == 2


def stems(folder):
    """A lead of steady tones with plucks of its own, a tabla, a drone: 6 s each."""
    lead = 0.2 * tone(440.0, 6.0)
    for at_s in np.arange(0.7, 5.5, 0.5):
        put(lead, at_s, 0.3 * dayan(1))
    strokes = np.zeros_like(lead)
    for at_s in np.arange(0.4, 5.5, 0.8):
        put(strokes, at_s, 0.2 * dayan(2) + 0.2 * np.pad(bayan(), (0, 0))[: len(dayan(2))])
    sounds = {"melody": lead, "tabla": strokes, "drone": 0.05 * tone(220.0, 6.0)}
    return {role: write(folder / f"{role}.wav", sound) for role, sound in sounds.items()}, sum(sounds.values())


def test_each_stem_feeds_what_it_serves_best_and_the_whole_is_their_sum(tmp_path):
    paths, mix = stems(tmp_path)
    sound = Sound((), **{role: (path,) for role, path in paths.items()})
    heard = listen(sound, tmp_path, "copy")
    of_mix = measure_blocks([mix.astype(np.float32)])
    of_tabla = measure_blocks(mono_blocks(paths["tabla"]))
    for name in ("bass", "treble", "strength"):
        of_stem, in_mix = getattr(of_tabla, name), getattr(of_mix, name)
        assert np.corrcoef(getattr(heard.evidence, name), of_stem)[0, 1] > 0.9999
        assert np.corrcoef(in_mix, of_stem)[0, 1] < 0.9, "the lead's plucks are in the mix: the test can tell"
    pluck = STROKE_KINDS.index("pluck")
    drums = np.arange(len(STROKE_KINDS)) != pluck
    np.testing.assert_array_equal(heard.evidence.strokes[:, drums], of_tabla.strokes[:, drums])
    assert np.abs(heard.evidence.strokes[:, pluck] - of_tabla.strokes[:, pluck]).max() > 0.1
    # the sum is taken at the copy's rate and brought down again: the resampler's ripple
    np.testing.assert_allclose(heard.evidence.chroma, of_mix.chroma, rtol=0, atol=0.01)
    np.testing.assert_allclose(heard.evidence.level_db[50:-50], of_mix.level_db[50:-50], rtol=0, atol=0.1)
    for role, expected in {"melody": "melody", "tabla": "tabla"}.items():
        np.testing.assert_array_equal(np.concatenate(list(blocks_of(sound, role))), samples_of(paths[expected]))
    difference = np.concatenate(list(blocks_of(sound))) - mix
    assert np.sqrt(np.mean(difference**2) / np.mean(mix**2)) < 0.02  # what the resampler leaves out near 11 kHz
    assert soundfile.info(heard.copy).channels == 2
    assert length_s(heard.copy) == pytest.approx(6.0, abs=0.001)


def test_the_level_at_which_a_stem_was_exported_is_without_influence(tmp_path):
    paths, _ = stems(tmp_path)
    sound = Sound((paths["melody"],), tabla=(paths["tabla"],))
    loud = listen(sound).evidence
    strokes, _ = soundfile.read(paths["tabla"])
    soundfile.write(paths["tabla"], strokes * 0.1, 22050, "FLOAT")
    soft = listen(sound).evidence
    # 16 bits in one of the two files; and what is near silence does not scale
    np.testing.assert_allclose(soft.bass, loud.bass, rtol=0.02, atol=0.01 * loud.bass.max())
    np.testing.assert_allclose(soft.treble, loud.treble, rtol=0.02, atol=0.01 * loud.treble.max())


def test_a_stem_of_silence_leaves_no_strokes(tmp_path):
    paths, _ = stems(tmp_path)
    write(paths["tabla"], np.zeros(6 * 22050))
    heard = listen(Sound((paths["melody"],), tabla=(paths["tabla"],))).evidence
    assert heard.strength.max() == 0
    assert np.isfinite(heard.bass).all()


def test_without_stems_the_whole_serves_every_role(tmp_path):
    sound = Sound((write(tmp_path / "whole.wav", clicks(44100), 44100),))
    for role in ("melody", "tabla"):
        np.testing.assert_array_equal(np.concatenate(list(blocks_of(sound, role))), samples_of(sound.whole[0]))


def test_a_stem_that_ends_a_little_earlier_ends_in_silence(tmp_path):
    paths, _ = stems(tmp_path)
    short, _ = soundfile.read(paths["tabla"])
    write(paths["tabla"], short[: round(5.3 * 22050)])
    heard = listen(Sound((paths["melody"],), tabla=(paths["tabla"],)))
    assert heard.evidence.duration_s == pytest.approx(6.0, abs=0.001)
    assert len(heard.evidence.bass) == len(heard.evidence.level_db)
    assert heard.evidence.bass[round(5.5 / heard.evidence.hop_s) :].max() == 0


def test_stems_of_different_lengths_do_not_belong_together(tmp_path):
    paths, _ = stems(tmp_path)
    write(tmp_path / "long.wav", np.zeros(10 * 22050))
    with pytest.raises(StemsDiffer, match=r"melody 6\.0 s, tabla 10\.0 s.*\nExport"):
        listen(Sound((), melody=(paths["melody"],), tabla=(tmp_path / "long.wav",)))
    with pytest.raises(IngestError, match="none was named"):
        listen(Sound(()))


def test_the_levels_are_those_of_the_sound_that_is_measured(tmp_path):
    path = write(tmp_path / "clicks.wav", clicks(44100), 44100)
    levels, samples = listen(Sound((path,))).levels, samples_of(path)
    assert levels.cell_s * len(levels.high[0]) == pytest.approx(3.0, abs=levels.cell_s)
    assert levels.high[0].max() == round(samples.max() * FULL_SCALE)
    first_loud_s = np.flatnonzero(levels.high[0] > FULL_SCALE / 4)[0] * levels.cell_s
    assert first_loud_s == pytest.approx(CLICKS_S[0], abs=levels.cell_s)


def test_progress_runs_to_one_over_all_passes(tmp_path):
    paths, _ = stems(tmp_path)
    told = []
    listen(Sound((), melody=(paths["melody"],), tabla=(paths["tabla"],)), tmp_path, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert any(0.3 < share < 0.7 for share in told)


@pytest.mark.parametrize("error", [KeyboardInterrupt, RuntimeError])
def test_broken_off_it_leaves_no_file_and_no_thread(tmp_path, error):
    path = write(tmp_path / "clicks.wav", np.tile(clicks(8000), 20), 8000)
    before = threading.active_count()

    def stop(_share):
        raise error

    with pytest.raises(error):
        listen(Sound((path,)), tmp_path, progress=stop)
    assert sorted(tmp_path.iterdir()) == [path]
    assert threading.active_count() == before


def test_a_copy_that_cannot_be_written_is_an_error_and_no_endless_wait(tmp_path):
    path = write(tmp_path / "clicks.wav", np.tile(clicks(8000), 40), 8000)
    with pytest.raises(OSError, match="No such file"):
        listen(Sound((path,)), tmp_path / "missing")
    assert threading.active_count() == 1 or all("copy" not in each.name for each in threading.enumerate())


def test_a_copy_left_unfinished_is_removed(tmp_path):
    with CopyWriter(tmp_path, "copy", 1) as writer:
        writer.add(np.zeros((48000, 1), np.float32), 48000)
    assert not list(tmp_path.iterdir())


def test_the_original_is_kept_byte_for_byte_where_it_is_wanted(tmp_path):
    for name in ("Side A.WAV", "b.flac"):
        soundfile.write(tmp_path / name, clicks(44100), 44100)
    sound = Sound((tmp_path / "Side A.WAV", tmp_path / "b.flac"))
    kept = listen(sound, tmp_path, "evening", keep_original=True)
    assert [path.name for path in kept.originals] == ["evening-original-1.wav", "evening-original-2.flac"]
    assert [path.read_bytes() for path in kept.originals] == [path.read_bytes() for path in sound.whole]
    assert listen(sound, tmp_path, "other").originals == ()


@pytest.mark.parametrize("name", ["Desh: alap.mp3", "pipe:0.m4a", "concat:a|b.ogg", "100% राग देश #1?.mp3", "-i.ogg"])
def test_a_files_name_is_never_more_than_a_name(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    path = Path(name)
    if path.suffix == ".m4a":
        film(tmp_path / "plain.m4a", "aac", with_picture=False).rename(tmp_path / name)
    else:
        write(tmp_path / f"plain{path.suffix}", clicks(44100), 44100).rename(tmp_path / name)
    (tmp_path / "Desh: archive").mkdir()
    heard = listen(Sound((path,)), Path("Desh: archive"), path.stem)
    np.testing.assert_allclose(heard_clicks_s(samples_of(heard.copy)), CLICKS_S, rtol=0, atol=TOLERANCE_S)


def test_silence_is_listened_to_as_anything_else(tmp_path):
    path = write(tmp_path / "silence.flac", np.zeros((44100, 2)), 44100)
    heard = listen(Sound((path,)), tmp_path)
    assert heard.evidence.strength.max() == 0
    assert heard.levels.high[0].max() == heard.levels.low[0].min() == 0
    assert np.abs(samples_of(heard.copy)).max() < 1e-3


def test_a_bad_file_leaves_nothing_behind(tmp_path):
    text, empty = tmp_path / "notes.wav", tmp_path / "empty.wav"
    text.write_text("Dha Dhin Dhin Dha")
    empty.touch()
    good = write(tmp_path / "good.wav", clicks(8000), 8000)
    for bad, error in ((text, UnreadableAudio), (empty, EmptyAudio), (tmp_path / "none.wav", UnreadableAudio)):
        with pytest.raises(error, match=bad.name):
            listen(Sound((good, bad)), tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted([text, empty, good])


def test_memory_grows_by_what_is_kept_and_no_more():
    def peak(minutes):
        block = np.zeros(10 * WORK_RATE_HZ, np.float32)
        tracemalloc.start()
        kept = measure_blocks(block for _ in range(6 * minutes))
        _, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return most, sum(np.asarray(part).nbytes for part in vars(kept).values())

    peak(1)  # what is computed at first use and kept
    (short, short_kept), (long, long_kept) = peak(1), peak(4)
    # the parts and the whole that they are put together into, both at once
    assert long - short < 3 * (long_kept - short_kept)
