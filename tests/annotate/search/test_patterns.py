"""Patterns of swaras and contours: the same as reading them word by word."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import pyarrow as pa
import pyarrow.compute as pc
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.errors import BadPattern
from annotate.search.derived import semitone_moves
from annotate.search.patterns import contour_of, contour_regex, swara_regex

SWARAS = ("S", "R", "m", "M", "S'", ".n", "..P", "N''")
WORDS = (*SWARAS, "?", "*", "[mM]")


def found(regex: str, text: str) -> bool:
    """Match as the archive does (RE2), and check that Python's own engine says the same."""
    (by_arrow,) = pc.match_substring_regex(pa.array([text]), regex).to_pylist()
    assert bool(re.search(regex, text)) == by_arrow
    return bool(by_arrow)


def naive(pattern: Sequence[str], line: Sequence[str], fits: Callable[[str, str], bool]) -> bool:
    """Match word by word, trying every length for ``*``."""
    if not pattern:
        return not line
    if pattern[0] == "*":
        return any(naive(pattern[1:], line[taken:], fits) for taken in range(len(line) + 1))
    return bool(line) and fits(pattern[0], line[0]) and naive(pattern[1:], line[1:], fits)


def swara_fits(wanted: str, swara: str, octaves: bool) -> bool:
    if wanted == "?":
        return True
    letter = swara.strip(".'")
    if wanted.startswith("["):
        return letter in wanted[1:-1] and (not octaves or swara == letter)
    return swara == wanted if octaves or wanted.strip(".'") != wanted else letter == wanted


def move_fits(wanted: str, move: str) -> bool:
    signs = {"up": "+", "down": "-", "same": "0"}
    return wanted == "?" or move == wanted or (wanted in signs and move.startswith(signs[wanted]))


@given(st.lists(st.sampled_from(WORDS), min_size=1, max_size=6), st.lists(st.sampled_from(SWARAS)), st.booleans())
def test_a_pattern_finds_what_reading_word_by_word_finds(pattern: list[str], line: list[str], octaves: bool) -> None:
    regex = swara_regex(" ".join(pattern), octaves)
    assert found(regex, " ".join(line)) == naive(pattern, line, lambda a, b: swara_fits(a, b, octaves))


@given(
    st.lists(st.sampled_from(("up", "down", "same", "+2", "-1", "0", "?", "*")), min_size=1, max_size=6),
    st.lists(st.sampled_from(("+2", "+12", "-1", "-11", "0"))),
)
def test_a_contour_finds_what_reading_move_by_move_finds(contour: list[str], moves: list[str]) -> None:
    assert found(contour_regex(" ".join(contour)), " ".join(moves)) == naive(contour, moves, move_fits)


@given(st.lists(st.sampled_from("SRgGmPDnN"), min_size=2, max_size=8), st.integers(1, 2))
def test_a_contour_is_the_same_in_every_octave(line: list[str], octaves: int) -> None:
    moved = [letter + "'" * octaves for letter in line]
    regex = contour_regex(contour_of(" ".join(line), "semitones"))
    assert found(regex, semitone_moves(" ".join(moved)) or "")


def test_swaras_may_be_written_together() -> None:
    assert swara_regex("Rm*P") == swara_regex("R m * P")
    assert swara_regex(".nS'") == swara_regex(".n S’")


@pytest.mark.parametrize(
    ("pattern", "column", "word"),
    [("R x P", 2, "Expected swaras"), ("R [m", 2, "choice"), ("", 0, "at least one"), ("Dha Ti", 1, "swaras")],
)
def test_a_pattern_that_cannot_be_read_shows_the_place(pattern: str, column: int, word: str) -> None:
    with pytest.raises(BadPattern, match=word) as caught:
        swara_regex(pattern)
    assert caught.value.column == column
    assert str(caught.value).splitlines()[-1] == "  " + " " * column + "^"


@pytest.mark.parametrize("contour", ["up 2", "upp", "", "+333"])
def test_a_contour_that_cannot_be_read_says_what_was_expected(contour: str) -> None:
    with pytest.raises(BadPattern, match="up"):
        contour_regex(contour)


def test_the_contour_of_a_phrase_is_told_by_direction_steps_or_semitones() -> None:
    assert contour_of("G P D D P", "direction") == "up up same down"
    assert contour_of("G P D D P", "steps", "bhupali") == "+1 +1 0 -1"
    assert contour_of("G P D D P", "semitones") == "+3 +2 0 -2"
    for text, raga in (("S", ""), ("Dha Ti", ""), ("S m", "bhupali")):
        with pytest.raises(BadPattern):
            contour_of(text, "steps", raga)
