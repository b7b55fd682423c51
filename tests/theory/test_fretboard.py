"""Strings, tunings, and where a phrase lies on them."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from theory.errors import BadFretting
from theory.fingering import on_one_string, spread, swaras_of
from theory.fretboard import Fretboard, note_name, note_to_semitones, parse_numbers, parse_tuning
from theory.notation import parse
from theory.swaras import letters, semitones_of

MANDOLIN = Fretboard(parse_tuning("G,D,A,E"))


def names(text):
    return [[note_name(pitch) for pitch in course.pitches] for course in parse_tuning(text)]


@pytest.mark.parametrize(
    ("text", "strings"),
    [
        ("G,D,A,E", ["G3", "D4", "A4", "E5"]),  # without octaves each string is the nearest above the one before
        ("E2,A,D,G,B,E", ["E2", "A2", "D3", "G3", "B3", "E4"]),
        ("55, 62, 69, 76", ["G3", "D4", "A4", "E5"]),
        ("F#3, Bb3, c4", ["F#3", "A#3", "C4"]),
        ("D,D", ["D3", "D4"]),
    ],
)
def test_a_tuning_is_read_from_notes_or_semitones(text, strings):
    assert names(text) == [[name] for name in strings]


def test_the_strings_of_a_course_are_in_unison_or_octaves():
    assert names("G3+G3,D4+D5") == [["G3", "G3"], ["D4", "D5"]]
    with pytest.raises(BadFretting, match=r"'G3\+A3' is no course"):
        parse_tuning("G3+A3")


def test_note_names_agree_with_librosa():
    import librosa

    for letter, sign, octave in itertools.product("CDEFGAB", ("", "#", "b", "♯", "♭", "##", "bb"), range(-1, 9)):
        name = f"{letter}{sign}{octave}"
        assert note_to_semitones(name) == librosa.note_to_midi(name), name
    for pitch in range(128):
        assert note_to_semitones(note_name(pitch)) == pitch
        assert note_name(pitch) == librosa.midi_to_note(pitch, unicode=False)


def test_sa_may_lie_on_any_fret_of_any_string():
    sa = MANDOLIN.pitch(2, 5)
    places = on_one_string(MANDOLIN, sa, ["S", "G", "P", "S'", ".P"], 2)
    assert [place.fret for place in places] == [5, 9, 12, 17, 0]


def test_a_capo_is_the_open_string_and_frets_count_from_the_nut():
    board = Fretboard(parse_tuning("D"), capo=2)
    assert [place.fret for place in on_one_string(board, board.pitch(1, 2), ["S", "R"], 1)] == [2, 4]
    with pytest.raises(BadFretting, match="There is no fret 1: string 1 has frets from 2"):
        board.pitch(1, 1)
    with pytest.raises(BadFretting, match="2 semitones below the capo on fret 2 of string 1"):
        on_one_string(board, board.pitch(1, 2), [".n"], 1)


def test_above_the_last_fret_a_swara_is_bent_when_that_is_allowed():
    sa = MANDOLIN.pitch(2, 7)
    with pytest.raises(BadFretting, match=r"S' would lie on fret 19 .* which has 17: .* a bend of 2 semitones"):
        on_one_string(Fretboard(MANDOLIN.courses, 17), sa, ["S'"], 2)
    (bent,) = on_one_string(Fretboard(MANDOLIN.courses, 17), sa, ["S'"], 2, bend=2)
    assert (bent.fret, bent.bend) == (17, 2)


def test_a_bend_is_taken_only_where_no_string_has_the_swara_straight():
    short = Fretboard(parse_tuning("G,D"), 7)
    assert spread(short, short.pitch(1, 0), ["P"], bend=12).places[0].bend == 0
    assert spread(short, short.pitch(1, 0), ["R'"], bend=1).movement == 0


def test_drone_strings_are_left_out():
    board = Fretboard(parse_tuning("D,A,E,B"), drones=frozenset({3, 4}))
    places = spread(board, board.pitch(1, 0), ["S", "R", "G", "m", "P", "D", "N", "S'"]).places
    assert {place.string for place in places} == {1, 2}


def test_a_scale_is_spread_without_moving_the_hand_where_that_can_be():
    fingering = spread(MANDOLIN, MANDOLIN.pitch(2, 0), ["S", "R", "g", "m", "P", "D", "n", "S'"])
    assert fingering.movement == 0
    assert [(place.string, place.fret) for place in fingering.places] == [
        (2, 0), (2, 2), (2, 3), (2, 5), (3, 0), (3, 2), (3, 3), (3, 5),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: parse_tuning("G,H"), "'H' is no string"),
        (lambda: parse_tuning("G,,A"), "'' is no string"),
        (lambda: note_to_semitones("D"), "no note with an octave"),
        (lambda: parse_numbers("4,x"), "'x' is no number of a string"),
        (lambda: MANDOLIN.pitch(5, 0), "There is no string 5: the tuning has strings 1 to 4"),
        (lambda: Fretboard(MANDOLIN.courses, 0), "0 frets"),
        (lambda: Fretboard(MANDOLIN.courses, capo=19), "leaves no fret"),
        (lambda: Fretboard(MANDOLIN.courses, drones=frozenset({7})), "There is no string 7"),
        (lambda: Fretboard(MANDOLIN.courses, drones=frozenset({1, 2, 3, 4})), "leave one to play on"),
        (lambda: spread(MANDOLIN, 62, ["..S"]), r"\.\.S \(D2\) lies on none of the strings"),
        (lambda: spread(MANDOLIN, 62, ["S"], stretch=-1), "stretch of -1"),
        (lambda: swaras_of(parse("Dha Ti")), "bols or silence came"),
    ],
)
def test_what_the_instrument_does_not_have_is_refused_with_its_reason(make, why):
    with pytest.raises(BadFretting, match=why):
        make()


def least_movement(board, sa, swaras, stretch):
    """Try every place and every position of the hand."""
    pitches = [sa + semitones_of(swara) for swara in swaras]
    choices = [
        [board.fret(n, pitch) for n in board.playable if board.capo <= board.fret(n, pitch) <= board.frets]
        for pitch in pitches
    ]
    best = None
    for frets in itertools.product(*choices):
        fretted = [fret for fret in frets if fret > board.capo]
        spans = [range(max(board.capo + 1, fret - stretch), fret + 1) for fret in fretted]
        for positions in itertools.product(*spans):
            moved = sum(abs(there - here) for here, there in itertools.pairwise(positions))
            best = moved if best is None else min(best, moved)
    return best


@given(
    st.lists(st.sampled_from([*letters(), ".P", ".n"]), min_size=1, max_size=4),
    st.integers(0, 2),
    st.integers(0, 3),
    st.integers(0, 2),
)
def test_no_other_fingering_moves_the_hand_less(swaras, stretch, sa_fret, capo):
    board = Fretboard(parse_tuning("A,D,A"), 14, capo)
    sa = board.pitch(2, capo + sa_fret)
    fingering = spread(board, sa, swaras, stretch=stretch)
    assert fingering.movement == least_movement(board, sa, swaras, stretch)
    for place, swara in zip(fingering.places, swaras, strict=True):
        assert board.pitch(place.string, place.fret) + place.bend == sa + semitones_of(swara)
