"""Phrases taken apart as vectors: the same as one by one."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.statistics.lines import NO_PITCH, last_swaras, lines_of, ngrams_of, swara_lengths, written
from theory.notation import parse
from theory.swaras import letters, semitones_of

PITCHES = st.integers(-24, 35)
PHRASES = st.lists(st.lists(PITCHES.map(written) | st.just("Dha"), max_size=7), max_size=6)


@given(PITCHES)
def test_a_pitch_is_written_as_it_is_read(pitch: int) -> None:
    assert semitones_of(written(pitch)) == pitch


@given(PHRASES, st.integers(1, 4))
def test_runs_are_those_found_phrase_by_phrase(phrases: list[list[str]], length: int) -> None:
    owner, texts = ngrams_of(lines_of(pd.Series([" ".join(line) for line in phrases], dtype=str)), length)
    expected: list[tuple[int, tuple[int, ...]]] = []
    for number, line in enumerate(phrases):
        for first in range(len(line) - length + 1):
            run = line[first : first + length]
            if "Dha" not in run:
                expected.append((number, tuple(semitones_of(b) - semitones_of(a) for a, b in pairwise(run))))
                assert texts[len(expected) - 1].split()[0].strip(".'") == run[0].strip(".'")
    found = [
        (int(phrase), tuple(semitones_of(b) - semitones_of(a) for a, b in pairwise(text.split())))
        for phrase, text in zip(owner, texts, strict=True)
    ]
    assert found == expected


def test_a_run_is_the_same_in_every_octave() -> None:
    _, texts = ngrams_of(lines_of(pd.Series([".N S", "N S'", "N' S''"])), 2)
    assert set(texts) == {"N S'"}


@given(PHRASES)
def test_the_last_swaras_are_those_of_each_phrase(phrases: list[list[str]]) -> None:
    ends = last_swaras(lines_of(pd.Series([" ".join(line) for line in phrases], dtype=str)))
    wanted = [semitones_of(line[-1]) if line and line[-1] != "Dha" else NO_PITCH for line in phrases]
    assert ends.tolist() == wanted


@given(st.lists(st.sampled_from(["R m P", "RmP - S", "S:2 R:1/2", "_ S R", "Dha Ti", "S x", "S' - S"]), max_size=6))
def test_the_time_of_each_swara_is_its_share_of_the_phrase(texts: list[str]) -> None:
    lengths = pd.Series([float(number + 1) for number in range(len(texts))], dtype=float)
    found = swara_lengths(pd.Series(texts, dtype=str), lengths)
    expected: Counter[tuple[int, str]] = Counter()
    for number, text in enumerate(texts):
        if text not in ("Dha Ti", "S x"):
            passage = parse(text)
            for note in passage.notes:
                expected[number, note.symbol.strip(".'")] += float(note.length / passage.length) * (number + 1)
    got = {(row.owner, row.letter): row.sounding_s for row in found.itertuples()}
    assert got == pytest.approx(dict(expected))


def test_a_leap_too_wide_for_the_middle_octave_is_written_from_another() -> None:
    _, texts = ngrams_of(lines_of(pd.Series(["S' ..N", "..N S''"])), 2)
    assert texts.tolist() == ["S' ..N", "..N S''"]


def test_a_length_that_no_run_has_is_a_mistake_of_the_program() -> None:
    with pytest.raises(ValueError, match="1 to 6"):
        ngrams_of(lines_of(pd.Series(["S R"])), 7)


def test_every_letter_is_a_pitch_class() -> None:
    assert [written(step) for step in range(12)] == list(letters())
