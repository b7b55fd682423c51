"""Practice sounds from the recording: as long as arithmetic says, in tune, strokes in place, joined without a click.

Outside references: librosa (onsets), pyloudnorm (loudness).
"""

from fractions import Fraction

import librosa
import numpy as np
import pyloudnorm
import pytest

from annotate.practice.errors import CannotSound
from annotate.practice.pieces import piece
from annotate.practice.sounds import SoundWishes, parts_planned, write_sound
from annotate.practice.sounds.instruments import GAINS, click
from ingest.between import read_between
from ingest.loudness import measured
from ingest.sound_writing import RATE_HZ
from tests.annotate.practice.sounds.conftest import STROKE_HZ, TONE_HZ, strokes_s
from tests.dashboard.conftest import SLUG

FIRST_SAM_S, LAST_SAM_S = 7.5, 18.0
"""The tihai begins at the first and lands an avartan before the last."""
MATRAS = 21
HALF = Fraction(50)


def decoded(path):
    return read_between(path, 0.0, 1e6)[0]


def onset_s(sound, at_s, around_s=0.1):
    """When what is struck near a time begins, by what sounds above the tone; NaN where nothing does."""
    first = round((at_s - around_s) * RATE_HZ)
    near = sound[first : round((at_s + around_s) * RATE_HZ)]
    struck = np.abs(np.diff(near, 4, prepend=[0, 0, 0, 0]))  # the tone is 100 dB down in it
    struck[:8] = 0
    return (first + np.flatnonzero(struck > 0.15 * struck.max())[0]) / RATE_HZ


@pytest.fixture(scope="module")
def slowly(concert, tihai, tmp_path_factory):
    """At half speed, two rounds, nothing under it but a count-in."""
    wishes = SoundWishes(speeds=(HALF,), rounds=2, clicks=False)
    return write_sound(concert, tihai, wishes, tmp_path_factory.mktemp("slowly") / "t01.flac")


@pytest.fixture(scope="module")
def heard(slowly):
    return decoded(slowly.path).mean(axis=1)


def rounds_of(made):
    return [each for each in made.parts if each.kind == "round"]


def test_it_is_as_long_as_its_matras_to_the_sample(slowly, heard):
    # count-in of 7 matras, two rounds of 21, one matra to close, each of a second
    assert slowly.duration_s == 7 + 2 * MATRAS + 1
    assert len(heard) == 50 * RATE_HZ
    assert [(each.begin_s, each.end_s) for each in rounds_of(slowly)] == [(7.0, 28.0), (28.0, 49.0)]
    assert not slowly.told


def test_strokes_are_at_twice_their_times_within_five_milliseconds(slowly, heard):
    found = []
    for part in rounds_of(slowly):
        for struck_s in strokes_s()[(strokes_s() >= FIRST_SAM_S) & (strokes_s() < LAST_SAM_S)]:
            due_s = part.begin_s + 2 * (struck_s - FIRST_SAM_S)
            found.append(onset_s(heard, due_s) - due_s)
    assert len(found) == 2 * MATRAS
    assert np.abs(found).max() < 0.005


def test_an_outside_detector_finds_the_strokes_at_twice_the_times_it_finds_in_the_recording(
    concert, tihai, heard, slowly
):
    def onsets_s(sound):
        # a millisecond a frame; where the strokes are, not where the tone is
        strength = librosa.onset.onset_strength(
            y=sound, sr=RATE_HZ, hop_length=48, n_fft=1024, fmin=STROKE_HZ / 1.5, n_mels=32
        )
        frames = librosa.util.peak_pick(
            strength, pre_max=150, post_max=150, pre_avg=150, post_avg=150, delta=0.3 * strength.max(), wait=300
        )
        return frames * 48 / RATE_HZ

    from annotate.practice.sounds.passage_slowed import read_passage

    played_s = onsets_s(read_passage(concert.sound_path(SLUG), FIRST_SAM_S - 0.2, 13.0).mean(axis=1)) - 0.2
    first = rounds_of(slowly)[0]
    begin = round((first.begin_s - 0.4) * RATE_HZ)
    slow_s = onsets_s(heard[begin : begin + round(10.9 * RATE_HZ)]) - 0.4
    assert len(played_s) == len(slow_s) == 11
    assert np.abs((slow_s - slow_s[0]) - 2 * (played_s - played_s[0])).max() < 0.005


def test_the_pitch_is_kept_within_three_cents(slowly, heard):
    first = rounds_of(slowly)[0]
    part = heard[round(first.begin_s * RATE_HZ) : round(first.end_s * RATE_HZ)]
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), 8 * len(part)))
    spectrum[: round(300 * 8 * len(part) / RATE_HZ)] = 0
    peak_hz = spectrum.argmax() * RATE_HZ / (8 * len(part))
    assert 1200 * np.log2(peak_hz / TONE_HZ) == pytest.approx(0, abs=3)


def test_rounds_are_joined_without_a_click(slowly, heard):
    def roughest(matra_s):
        """Largest step, and bend, from sample to sample in the 80 ms before a matra's stroke is to be heard."""
        near = heard[round((matra_s - 0.084) * RATE_HZ) : round((matra_s - 0.004) * RATE_HZ)]
        return np.array([np.abs(np.diff(near, times)).max() for times in (1, 2)])

    join_s = rounds_of(slowly)[1].begin_s
    # as before any other stroke; where two rounds of one steady tone cross they may add up to 3 dB
    assert (roughest(join_s) <= 1.5 * roughest(join_s - 1)).all()
    assert (roughest(join_s) <= 1.5 * roughest(join_s - 2)).all()


def test_it_ends_in_silence_and_the_closing_sam_is_heard(slowly, heard):
    assert np.abs(heard[-10:]).max() < 1e-3
    assert onset_s(heard, 49.0) == pytest.approx(49.0, abs=0.005)


def test_an_outside_meter_finds_the_loudness_that_was_asked_for(slowly):
    sound = decoded(slowly.path).astype(float)
    assert pyloudnorm.Meter(RATE_HZ).integrated_loudness(sound) == pytest.approx(-16, abs=0.5)
    assert slowly.loudness_lufs == pytest.approx(-16, abs=0.1)


@pytest.mark.parametrize("ending", [".mp3", ".opus"])
def test_encoded_files_are_as_long_and_as_loud_when_decoded(concert, tihai, tmp_path, ending):
    wishes = SoundWishes(speeds=(Fraction(80), Fraction(100)), rounds=1, count_in=Fraction(3), theka=True, lehra=True)
    made = write_sound(concert, tihai, wishes, tmp_path / f"t01{ending}")
    lasts_s = (3 + MATRAS) * 0.5 / 0.8 + 2 * 0.625 + (3 + MATRAS + 2) * 0.5
    assert made.duration_s == lasts_s
    sound = decoded(made.path)
    assert len(sound) / RATE_HZ == pytest.approx(lasts_s, abs=0.001)
    assert pyloudnorm.Meter(RATE_HZ).integrated_loudness(sound.astype(float)) == pytest.approx(-16, abs=0.5)
    assert measured([sound], RATE_HZ).peak_db <= -1


def test_clicks_stand_on_the_samples_of_the_matras_as_played(concert, tihai, tmp_path):
    wishes = SoundWishes(speeds=(Fraction(100),), rounds=1, under_db=20, loudness_lufs=-30)
    made = write_sound(concert, tihai, wishes, tmp_path / "t01.flac")
    sound = decoded(made.path)[:, 0]
    kinds = ["sam", "matra", "matra", "tali", "matra", "tali", "matra"]  # of rupak, whose sam is khali
    for matra in range(7 + MATRAS):
        if matra == 7 + 14:
            continue  # there the landing stroke comes 12 ms late
        at = round(matra * 0.5 * RATE_HZ)
        like = click(kinds[matra % 7])[:400]
        near = sound[max(0, at - 200) : at + 600]
        beside = np.correlate(near, like, "valid").argmax() - min(at, 200)
        assert abs(beside) <= 1, f"matra {matra}: {beside} samples beside its place"
    assert GAINS["click"] > 0


def test_where_the_section_has_no_avartan_more_that_is_told(concert, tmp_path):
    made = write_sound(
        concert, piece(concert, f"{SLUG}/t03"), SoundWishes(speeds=(HALF,), rounds=1), tmp_path / "t03.flac"
    )
    assert [each.end_s - each.begin_s for each in rounds_of(made)] == [7.0]
    assert made.told == ("No avartan of the section lies after it: a round ends there.",)
    kinds = [each.kind for each in made.parts]
    assert kinds == ["count-in", "round", "palla", "dam", "palla", "dam", "palla", "closing"]
    dam = next(each for each in made.parts if each.words == "dam 1 at 50 %")
    assert dam.end_s - dam.begin_s == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize(
    ("before", "told"), [(1, ()), (3, ("Only one avartan of the section lies before it: a round begins there.",))]
)
def test_avartans_before_it_are_played_as_far_as_there_are_any(concert, tihai, before, told):
    wishes = SoundWishes(speeds=(Fraction(100),), rounds=1, before=before, count_in=Fraction(0))
    parts, said = parts_planned(concert, tihai, wishes)
    assert [(each.begin_s, each.end_s, each.words) for each in parts][:2] == [
        (0.0, 14.0, "round 1 at 100 %"),
        (3.5, 6.0, "palla 1 at 100 %"),
    ]
    assert said == told


def test_exactly_the_passage_lasts_from_its_first_stroke_to_a_matra_after_its_landing(concert, tihai, tmp_path):
    wishes = SoundWishes(speeds=(Fraction(100),), rounds=2, exactly=True, count_in=Fraction(4))
    made = write_sound(concert, tihai, wishes, tmp_path / "t01.flac")
    assert [each.kind for each in made.parts if each.kind in ("count-in", "round")] == ["count-in", "round"] * 2
    assert made.duration_s == pytest.approx(2 * (4 * 0.5 + 7.012 + 0.5), abs=1 / RATE_HZ)


def test_each_palla_alone_is_cut_from_the_recording(concert, tihai, tmp_path):
    made = write_sound(
        concert,
        tihai,
        SoundWishes(speeds=(Fraction(100),), rounds=1, pallas_alone=True, count_in=Fraction(2)),
        tmp_path / "t01.flac",
    )
    assert [each.words for each in rounds_of(made)] == [f"palla {k}, round 1 at 100 %" for k in (1, 2, 3)]
    assert [each.end_s - each.begin_s for each in rounds_of(made)] == pytest.approx([2.5] * 3)


def test_outside_a_tala_a_phrase_is_played_exactly_and_without_clicks(concert, tmp_path):
    made = write_sound(
        concert, piece(concert, f"{SLUG}/p01"), SoundWishes(speeds=(HALF,), rounds=1), tmp_path / "p01.flac"
    )
    assert [each.words for each in made.parts] == ["round 1 at 50 %"]
    assert made.duration_s == 3.0
    assert made.told


def test_without_a_count_in_it_opens_without_a_click(concert, tihai, tmp_path):
    wishes = SoundWishes(speeds=(HALF,), rounds=1, count_in=Fraction(0), clicks=False)
    made = write_sound(concert, tihai, wishes, tmp_path / "t01.flac")
    assert [each.kind for each in made.parts if each.kind not in ("palla", "landing")] == ["round", "closing"]
    sound = decoded(made.path).mean(axis=1)
    assert np.abs(sound[:4]).max() < 0.05 * np.abs(sound[: RATE_HZ // 4]).max()
    assert onset_s(np.concatenate([np.zeros(RATE_HZ), sound]), 1.0) == pytest.approx(1.0, abs=0.005)


def test_without_marked_sams_exactly_the_passage_can_be_played(concert, tihai, tmp_path, monkeypatch):
    monkeypatch.setattr("annotate.practice.sounds.writing.grid_around", lambda *_: None)
    with pytest.raises(CannotSound, match="No matras are known"):
        write_sound(concert, tihai, SoundWishes(), tmp_path / "t01.flac")
    wishes = SoundWishes(speeds=(Fraction(100),), rounds=1, exactly=True, count_in=Fraction(2))
    made = write_sound(concert, tihai, wishes, tmp_path / "t01.flac")
    # 15 matras on paper, the last of which rings, between 7.5 s and a matra after the landing at 14.512 s
    matra_s = (7.012 + 60 / tihai.per_minute) / 15
    assert made.duration_s == pytest.approx(17 * matra_s, abs=1e-3)


def test_progress_is_told_from_nothing_to_everything(concert, tihai, tmp_path):
    told = []
    write_sound(concert, tihai, SoundWishes(speeds=(HALF,), rounds=1), tmp_path / "t01.opus", told.append)
    assert told == sorted(told)
    assert told[-1] == 1
    assert len(told) > 5


def test_the_recording_slowed_in_pieces_sounds_as_slowed_at_once(concert, monkeypatch):
    from annotate.practice.sounds import passage_slowed

    path = concert.sound_path(SLUG)
    whole = passage_slowed.slowed_passage(path, 5.0, 17.0, 0.5)
    monkeypatch.setattr(passage_slowed, "PIECE_S", 3.0)
    pieces = passage_slowed.slowed_passage(path, 5.0, 17.0, 0.5)
    assert whole.shape == pieces.shape == (24 * RATE_HZ, 2)
    for struck_s in np.arange(5.5, 16.9, 0.5):
        due_s = 2 * (struck_s - 5.0)
        assert onset_s(pieces[:, 0], due_s) == pytest.approx(due_s, abs=0.005)
    steady = np.abs(np.diff(whole[round(1.2 * RATE_HZ) : round(1.9 * RATE_HZ), 0])).max()
    for seam_s in (6.0, 12.0, 18.0):
        near = pieces[round((seam_s - 0.03) * RATE_HZ) : round((seam_s - 0.003) * RATE_HZ), 0]
        assert np.abs(np.diff(near)).max() < 1.5 * steady


@pytest.mark.parametrize(
    ("name", "says"), [("t01.wav", "should end in"), ("none/t01.mp3", "no folder"), ("there.mp3", "was left as it is")]
)
def test_a_place_that_cannot_be_written_is_refused_at_once(concert, tihai, tmp_path, name, says):
    (tmp_path / "there.mp3").write_text("as it was")
    with pytest.raises(CannotSound, match=says):
        write_sound(concert, tihai, SoundWishes(), tmp_path / name)
    assert [each.name for each in tmp_path.iterdir()] == ["there.mp3"]
