"""Practice sounds from notation: each stroke at its sample, the theka and dams where they belong, any laya and Sa."""

import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from annotate.archive import Archive
from annotate.marking import record_tihai
from annotate.practice.errors import CannotSound
from annotate.practice.pieces import piece
from annotate.practice.sounds import SoundWishes, write_sound
from annotate.practice.sounds.beats import Under, beats_of
from annotate.practice.sounds.on_paper import written_stretches
from annotate.practice.sounds.plan import Run, laid_out
from annotate.records import PhraseRecord, Recording, Section
from annotate.revisions import add
from ingest.between import read_between
from ingest.sound_writing import RATE_HZ
from tests.dashboard.conftest import SLUG
from theory.talas import get_tala
from theory.tihai import LandingRule

BARE = SoundWishes(source="notation", theka=False, tanpura=False, dam_clicks=False, clicks=False, count_in=Fraction(0))
UNDER = Under(get_tala("rupak"), clicks=False, theka=True, lehra=None)


def decoded(path):
    return read_between(path, 0.0, 1e6)[0]


def beats(of, under=UNDER, rounds=1, **wished):
    """All that is struck in a sound, as (seconds, sound)."""
    wishes = replace(SoundWishes(source="notation"), **wished)
    stretches = written_stretches(of, wishes, Fraction(60))
    legs = laid_out([Run(each, Fraction(1), "", False, each.closes) for each in stretches], rounds, Fraction(0), 7)
    return [(leg.time_s(beat.position), beat.sound) for leg in legs for beat in beats_of(leg, under)]


def test_every_pluck_begins_at_the_sample_of_its_matra(concert, tmp_path):
    # palla of two matras from matra 2, dam of a half: plucks on 2, 3, 4 1/2, 5 1/2, 7 and on sam, at 0.6 s a matra
    of = piece(concert, f"{SLUG}/t03")
    made = write_sound(concert, of, replace(BARE, layas=(Fraction(100),), rounds=1), tmp_path / "t03.flac")
    assert made.duration_s == pytest.approx(14 * 0.6 + 2 * 0.6, abs=1e-12)
    sound = np.abs(np.diff(decoded(made.path).mean(axis=1), 3, prepend=[0, 0, 0]))
    for matra in (2, 3, 4.5, 5.5, 7, 8):
        at = round((matra - 1) * 0.6 * RATE_HZ)
        before, after = sound[at - 480 : at - 8].max(), sound[at : at + 240].max()
        assert after > 20 * before
        begins = np.flatnonzero(sound[at - 96 : at + 480] > 0.1 * after)[0] - 96
        assert abs(begins) <= 48, "more than a millisecond beside its place"


@pytest.mark.parametrize(("laya", "rounds"), [(Fraction(63), 1), (Fraction(97), 3), (Fraction(200, 3), 2)])
def test_the_whole_lasts_as_its_matras_say_to_the_sample(concert, tihai, tmp_path, laya, rounds):
    made = write_sound(concert, tihai, replace(BARE, layas=(laya,), rounds=rounds), tmp_path / "t01.flac")
    matra_s = 60 / laya
    matras = rounds * 21 + math.ceil(1 / matra_s)
    assert len(decoded(made.path)) == round(matras * matra_s * RATE_HZ)


def test_a_climb_goes_from_one_laya_to_the_next_without_a_stop(concert, tihai, tmp_path):
    wishes = replace(BARE, layas=(Fraction(120), Fraction(150), Fraction(180)), rounds=1, count_in=Fraction(7))
    made = write_sound(concert, tihai, wishes, tmp_path / "climb.opus")
    told = [(each.begin_s, each.end_s, each.words) for each in made.parts if each.kind in ("count-in", "round")]
    assert told == [
        (0.0, 3.5, "count-in"),
        (3.5, 14.0, "round 1 at 120 matras a minute"),
        (14.0, pytest.approx(22.4), "round 1 at 150 matras a minute"),
        (pytest.approx(22.4), pytest.approx(29.4), "round 1 at 180 matras a minute"),
    ]


def test_what_is_plucked_has_the_sa_that_was_asked_for(concert, tmp_path):
    of = piece(concert, f"{SLUG}/p01")  # R m G R outside any tala
    wishes = replace(BARE, layas=(Fraction(30),), rounds=1, sa_hz=264.0)
    sound = decoded(write_sound(concert, of, wishes, tmp_path / "p01.flac").path).mean(axis=1)
    for number, ratio in enumerate((9 / 8, 4 / 3, 5 / 4, 9 / 8)):
        note = sound[round((2 * number + 0.3) * RATE_HZ) : round((2 * number + 1.6) * RATE_HZ)]
        spectrum = np.abs(np.fft.rfft(note * np.hanning(len(note)), 1 << 19))
        first = round(0.94 * 264 * ratio * (1 << 19) / RATE_HZ)
        last = round(1.06 * 264 * ratio * (1 << 19) / RATE_HZ)
        hz = (first + spectrum[first:last].argmax()) * RATE_HZ / (1 << 19)
        assert 1200 * np.log2(hz / (264 * ratio)) == pytest.approx(0, abs=5)


def test_a_dam_is_counted_on_its_own_matras(concert):
    of = replace(piece(concert, f"{SLUG}/t03"))
    counted = [at for at, sound in beats(of) if sound == ("click", "dam")]
    assert counted == [Fraction(3), Fraction(11, 2)]
    assert not [at for at, sound in beats(of, dam_clicks=False) if sound == ("click", "dam")]
    longer = replace(of, tihai=replace(of.tihai, dam=Fraction(5, 2)))
    assert [at for at, sound in beats(longer) if sound == ("click", "dam")] == [
        3,
        4,
        5,
        Fraction(15, 2),
        8 + Fraction(1, 2),
        9 + Fraction(1, 2),
    ]


def test_the_theka_sounds_under_swaras_and_rests_under_bols(concert, tihai):
    under_swaras = [at for at, sound in beats(tihai) if sound[0] in ("dayan", "bayan")]
    assert {at for at in under_swaras if at < 21} == set(range(21))
    tabla = piece(concert, f"{SLUG}/t04")
    struck = sorted({at for at, sound in beats(tabla) if sound[0] in ("dayan", "bayan")})
    # Dha TiTe Dha GeNa Dha three times, landing on the 15th matra, then the theka from matra 2 of that avartan on
    assert [at for at in struck if at < 5] == [0, 1, Fraction(3, 2), 2, 3, Fraction(7, 2), 4]
    assert [at for at in struck if 13 <= at < 21] == [13, Fraction(27, 2), 14, *range(15, 21)]


def test_each_palla_alone_stands_in_its_place_and_the_last_one_lands(concert, tihai):
    plucked = [at for at, sound in beats(tihai, pallas_alone=True) if sound[0] == "pluck"]
    first, second, third = range(5), range(5, 10), range(10, 15)
    # rounds of 7 and of 14 matras, and one that begins with the second avartan, each closed by a matra of a second
    assert plucked == [*first, *(8 + at for at in second), *(8 + 15 - 7 + at for at in third)]


def test_without_an_avartan_more_the_landing_is_the_sam_of_the_next_round(concert, tihai):
    moved = replace(tihai, start=Fraction(2))
    shorter = replace(moved, tihai=replace(moved.tihai, palla="R m", dam=Fraction(1, 2)))
    plucked = [at for at, sound in beats(shorter, rounds=2, after=0) if sound[0] == "pluck"]
    once = [1, 2, Fraction(7, 2), Fraction(9, 2), 6]
    assert plucked == [*once, 7, *(7 + at for at in once), 14]


def test_counted_after_the_landing_of_bols_is_a_dha(concert):
    of = piece(concert, f"{SLUG}/t04")
    after = replace(of, tihai=replace(of.tihai, rule=LandingRule.AFTER))
    struck = [sound for at, sound in beats(after, UNDER, theka=False) if at == 15]
    assert ("bayan", "rings") in struck


def test_a_lehra_has_one_note_on_every_sam(concert, tihai):
    from theory.lehra import lehra
    from theory.ragas import get_raga

    tala = get_tala("rupak")
    under = Under(tala, clicks=False, theka=False, lehra=lehra(get_raga("desh"), tala))
    notes = [(at, sound[1]) for at, sound in beats(tihai, under) if sound[0] == "lehra"]
    assert [each for each in notes if each[0] in (0, 7, 14, 21)] == [(at, "R") for at in (0, 7, 14, 21)]


def test_where_nothing_else_is_known_it_is_said_what_is_missing(tihai, tmp_path):
    archive = Archive.create(tmp_path / "bare")
    archive.commit(
        "bare",
        [
            add(Recording("bare", "Bare", raga="a raga of mine", duration_s=30.0)),
            add(Section("gat", "gat", 0.0, 30.0, "rupak")),
        ],
        who="test",
        why="made for a test",
    )
    record_tihai(
        archive, "bare", palla_s=[1.0, 4.0, 7.0], landing_s=9.0, palla="S R", dam=Fraction(1), start=Fraction(1)
    )
    of = piece(archive, "bare/t01")
    out = tmp_path / "out.flac"
    with pytest.raises(CannotSound, match="keeps no sound"):
        write_sound(archive, of, SoundWishes(), out)
    with pytest.raises(CannotSound, match="raga of the table"):
        write_sound(archive, of, SoundWishes(source="notation", lehra=True), out)
    with pytest.raises(CannotSound, match="60 at most"):
        write_sound(archive, of, SoundWishes(source="notation", layas=(Fraction(5),), rounds=100), out)
    silent = replace(of, tihai=None, phrase=PhraseRecord("p01", 1.0, 3.0, "- -"))
    with pytest.raises(CannotSound, match="No swara or bol"):
        write_sound(archive, silent, SoundWishes(source="notation"), out)
    assert not out.exists()


@pytest.mark.parametrize(
    ("wished", "says"),
    [
        ({"speeds": (Fraction(10),)}, "25 to 100 percent"),
        ({"speeds": ()}, "No speed"),
        ({"layas": (Fraction(2000),)}, "5 to 1000 matras"),
        ({"rounds": 0}, "rounds"),
        ({"count_in": Fraction(-1)}, "count-in"),
        ({"loudness_lufs": 0.0}, "loudness"),
        ({"sa_hz": 5.0}, "Sa"),
        ({"source": "memory"}, "recording or from notation"),
    ],
)
def test_what_cannot_be_wished_for_is_told(wished, says):
    with pytest.raises(CannotSound, match=says):
        SoundWishes(**wished)
