"""Sounds written as FLAC, MP3 and Opus: as long as they were, strokes where they were, tags as they were.

Outside reference for tags: mutagen.
"""

import av
import mutagen
import numpy as np
import pytest

from ingest.between import read_between
from ingest.sound_writing import KINDS, RATE_HZ, write_sound_file

TAGS = {
    "title": "Tihai t02, आवर्तन",
    "artist": "Nirvani Tolasar (mandolin)",
    "album": "Trial in rupak",
    "date": "2026-03-07",
    "comment": "Raga Desh; tala Rupak",
    "copyright": "CC-BY-4.0",
}
FORMATS = pytest.mark.parametrize("ending", sorted(KINDS))
REMAINS = {".flac": 0, ".mp3": 48, ".opus": 0}
"""Samples that a decoded file may be longer: a millisecond of silence at the end of MP3."""
STRUCK_S = (0.1, 0.4567, 1.2)


def struck(length):
    sound = np.zeros((length, 2), np.float32)
    time_s = np.arange(1200) / RATE_HZ
    for at_s in STRUCK_S:
        at = round(at_s * RATE_HZ)
        if at + 1200 < length:
            sound[at : at + 1200] += (0.5 * np.exp(-time_s / 0.006) * np.sin(2 * np.pi * 1100 * time_s))[:, None]
    return sound


def decoded(path):
    frames, rate_hz, begins_s = read_between(path, 0.0, 1e6)
    assert (rate_hz, begins_s) == (RATE_HZ, 0.0)
    return frames


@FORMATS
@pytest.mark.parametrize("length", [9_601, 48_000, 77_777, 96_001])
def test_what_is_decoded_is_as_long_as_what_was_written_and_strokes_are_at_their_samples(tmp_path, ending, length):
    path, sound = tmp_path / f"sound{ending}", struck(length)
    pieces = [sound[first : first + 5000] for first in range(0, length, 5000)]
    assert write_sound_file(pieces, path, {}) == length
    heard = decoded(path)
    assert 0 <= len(heard) - length <= REMAINS[ending]
    for at_s in STRUCK_S:
        at = round(at_s * RATE_HZ)
        if at + 1200 < length:
            near = slice(at - 400, at + 400)
            beside = np.correlate(heard[near, 0], sound[near, 0], "full").argmax() - 799
            assert abs(beside) <= 1, "samples beside its place"


@FORMATS
def test_tags_of_any_script_are_read_by_another_program(tmp_path, ending):
    path = tmp_path / f"sound{ending.upper()}"
    write_sound_file([struck(48_000)], path, TAGS)
    read = mutagen.File(path)
    if ending == ".mp3":
        frames = {"TIT2": "title", "TPE1": "artist", "TALB": "album", "TDRC": "date", "TCOP": "copyright"}
        assert {frames[each]: str(read[each]) for each in frames} == {
            each: TAGS[each] for each in TAGS if each != "comment"
        }
        assert any("Raga Desh" in str(read[each]) for each in read if each.startswith(("COMM", "TXXX")))
    else:
        # the field of Vorbis comments for what is said at length
        told = {name: read["description" if name == "comment" else name][0] for name in TAGS}
        assert told == TAGS


def test_flac_holds_every_sample_to_sixteen_bits(tmp_path):
    path, sound = tmp_path / "sound.flac", struck(30_000)
    write_sound_file([sound], path, {})
    assert np.abs(decoded(path) - sound).max() < 1 / 32767


@FORMATS
def test_nothing_is_left_of_a_file_that_could_not_be_finished(tmp_path, ending):
    path = tmp_path / f"sound{ending}"
    path.write_bytes(b"as it was")

    def breaks_off():
        yield struck(20_000)
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space"):
        write_sound_file(breaks_off(), path, {})
    assert path.read_bytes() == b"as it was"
    assert [each.name for each in tmp_path.iterdir()] == [path.name]


@FORMATS
def test_the_container_says_how_long_it_is(tmp_path, ending):
    path = tmp_path / f"sound{ending}"
    write_sound_file([struck(96_000)], path, {})
    with av.open(str(path)) as file:
        # MP3 and Opus count the encoder's own samples here, which a player leaves out
        assert file.duration / 1e6 == pytest.approx(2.0, abs=0.04)
