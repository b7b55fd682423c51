"""A gat with a kaida stays a gat, a solo over a lehra is a solo, and the laya names the gat as a school does."""

from types import SimpleNamespace

import numpy as np
import pytest

from ingest.kinds_by_cycle import kind_by_cycle, lehra_likeness, longest_run, theka_left
from ingest.melody import Melody
from ingest.theka_profile import theka_places
from tests.ingest.struck_evidence import BAYAN, DEAD, RIM, struck
from theory.errors import UnknownName
from theory.talas import get_tala

TALA = get_tala("jhaptal")
MATRA_S, AVARTANS, START_S = 0.6, 12, 1.2
SPAN_S = (0.0, START_S + AVARTANS * TALA.matras * MATRA_S)
HOP_S = 0.02


def course_of(avartans=AVARTANS, matra_s=MATRA_S):
    place = np.arange(avartans * TALA.matras)
    matra = place % TALA.matras + 1
    return SimpleNamespace(
        cycle=np.cumsum(matra == 1),
        matra=matra,
        matra_s=START_S + np.arange(len(place)) * matra_s,
        solo=np.zeros(len(place), bool),
    )


def evidence_of(left, matra_s=MATRA_S):
    """The theka, but for the avartans (from 0) that are left for a kaida in chaugun."""
    groups = []
    for place in theka_places(TALA):
        at_s = [
            START_S + (cycle * TALA.matras + place.matra + place.share) * matra_s
            for cycle in range(AVARTANS)
            if cycle not in left
        ]
        if place.bayan.argmax():
            groups.append((at_s, BAYAN + place.bayan.argmax() - 1, 0.9))
        if place.dayan.argmax():
            groups.append((at_s, RIM + place.dayan.argmax() - 1, 0.9))
    for cycle in left:
        quarters_s = START_S + (cycle * TALA.matras + np.arange(0, TALA.matras, 0.25)) * matra_s
        groups += [(quarters_s[::2], RIM, 0.9), (quarters_s[1::2], DEAD, 0.9)]
    return struck(SPAN_S[1], *groups)


def melody_of(again, sounds=1.0):
    """A swara for every matra, the same in every avartan or not."""
    random = np.random.default_rng(4)
    tune = random.integers(0, 12, (AVARTANS, TALA.matras))
    swaras = (np.tile(tune[:1], (AVARTANS, 1)) if again else tune).ravel()
    hz = 220 * 2 ** (swaras / 12).repeat(round(MATRA_S / HOP_S))
    hz = np.concatenate([np.full(round(START_S / HOP_S), 220.0), hz])
    return Melody(HOP_S, hz.astype(np.float32), np.full(len(hz), sounds, np.float32), np.ones(len(hz), np.float32))


def named(kind, left, again, school="doubling"):
    return kind_by_cycle(kind, evidence_of(left), melody_of(again), SPAN_S, TALA, course_of(), school)


@pytest.mark.parametrize("left", [(), (4, 5, 6), (3, 4, 8, 9)])
def test_a_gat_in_which_the_tabla_takes_a_kaida_remains_a_gat_whatever_it_sounds_like(left):
    assert named("tabla solo", left, again=False) == named("drut gat", left, again=False) == "madhya gat"


def test_where_the_tabla_leads_throughout_over_a_lehra_it_is_a_tabla_solo():
    kaidas = (1, 2, 3, 4, 6, 7, 8, 9, 10)  # the theka comes back for an avartan between them
    assert named("drut gat", kaidas, again=True) == named("tabla solo", kaidas, again=True) == "tabla solo"


def test_the_avartans_in_which_the_theka_was_left_are_told():
    left = theka_left(evidence_of((4, 5, 9)), SPAN_S, TALA, course_of())
    assert np.flatnonzero(left).tolist() == [4, 5, 9]
    searched = course_of()
    searched.solo[20:30] = True  # what the search itself says counts as well
    left = theka_left(evidence_of((4, 5, 9)), SPAN_S, TALA, searched)
    assert np.flatnonzero(left).tolist() == [2, 4, 5, 9]


def test_a_lehra_is_the_same_melody_in_every_avartan_in_whatever_octave():
    again, other = melody_of(again=True), melody_of(again=False)
    assert lehra_likeness(again, TALA, course_of()) == 1
    assert lehra_likeness(other, TALA, course_of()) < 0.3
    octaves = np.where(np.arange(len(again.voicing)) < START_S / HOP_S + 6 * TALA.matras * MATRA_S / HOP_S, 1, 2)
    higher = Melody(HOP_S, again.fundamental_hz * octaves.astype(np.float32), again.voicing, again.strength)
    assert lehra_likeness(higher, TALA, course_of()) == 1
    assert lehra_likeness(melody_of(again=True, sounds=0.0), TALA, course_of()) == 0.5  # nobody plays it


@pytest.mark.parametrize(
    ("left", "share"),
    [
        ("......", 0.0),
        ("..xxx.", 0.5),
        ("xx.xx.", 2 / 6),  # too short to count as kaidas of one solo
        ("xxx.xxx.", 7 / 8),
        ("xxx..xxx", 3 / 8),
        ("", 0.0),
    ],
)
def test_a_theka_for_an_avartan_between_two_long_runs_does_not_end_a_solo(left, share):
    assert longest_run([each == "x" for each in left]) == pytest.approx(share)


@pytest.mark.parametrize(("school", "kind"), [("doubling", "madhya gat"), ("handbook", "drut gat")])
def test_the_laya_is_called_as_the_school_calls_it(school, kind):
    told = (evidence_of((), 60 / 90), melody_of(again=False), SPAN_S, TALA, course_of(matra_s=60 / 90))
    assert kind_by_cycle("vilambit gat", *told, school) == kind


def test_with_few_avartans_what_the_sound_says_stands():
    course = course_of(avartans=3)
    told = (evidence_of((0, 1, 2)), melody_of(again=True), SPAN_S, TALA, course)
    assert kind_by_cycle("tabla solo", *told) == "tabla solo"
    assert kind_by_cycle("drut gat", *told) == "madhya gat"


@pytest.mark.parametrize("kind", ["alap", "jhala", "Sawal-jawab"])
def test_what_has_no_tala_or_a_name_of_its_own_keeps_it(kind):
    assert named(kind, (1, 2, 3, 4, 5), again=True) == kind


def test_an_unknown_school_is_refused():
    with pytest.raises(UnknownName, match="doubling, handbook"):
        named("drut gat", (), again=False, school="nobody's")
