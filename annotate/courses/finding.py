"""Pieces found by words, to be put into a course: tihais and phrases of all recordings, ragas, compositions, exercises.

A search goes over the index's columns as vectors, never recording by recording.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from annotate.archive import Archive
from annotate.compositions.shelf import Shelf
from annotate.courses.exercise_sets import read_exercises, words_of
from annotate.courses.piece import Found, find
from annotate.labels import raga_name
from theory.exercises.wishes import LEVELS
from theory.names import fold
from theory.ragas import all_ragas
from theory.talas import all_talas, get_tala

MOST = 20
LONGEST_WORDS = 200
EXERCISES = "exercises"
SHORT = 2
"""Letters of a word that is taken for a whole one."""


def find_pieces(archive: Archive, words: str, most: int = MOST) -> list[Found]:
    """Return the pieces of which each word says something: title, raga, notation, label or key.

    A word of one or two letters is taken as it is typed, and for a whole word, since it may be a swara. Ragas and
    compositions come first, and exercises where one of the words is "exercises"; then tihais and phrases in order of
    recording and time; at most ``most``.
    """
    wanted = words[:LONGEST_WORDS].split()
    if not wanted:
        return []
    names = [f"raga:{raga.key}" for raga in all_ragas() if _says(f"raga {raga.key} {raga.name}", wanted)]
    names += [
        f"composition:{kept.key}"
        for kept in Shelf(archive).all()
        if _says(f"composition {kept.key} {kept.content.name} {kept.content.tala} {kept.content.palla}", wanted)
    ]
    if any(len(word) > SHORT and EXERCISES.startswith(word.casefold()) for word in wanted):
        names += [f"exercises:{each}" for each in _exercise_sets() if _says(_exercise_words(each), wanted)]
    if len(names) < most:
        with archive.one_look():
            names += _rows(archive, wanted)
    return [find(archive, name) for name in names[:most]]


def _exercise_sets() -> Iterator[str]:
    """Give the sets of exercises that are offered: in every tala, mixed or of one difficulty."""
    for tala in all_talas():
        yield from (f"tala={tala.key}", *(f"tala={tala.key},level={level}" for level in LEVELS))


def _exercise_words(written: str) -> str:
    wishes = read_exercises(written)
    return f"{EXERCISES} {wishes.tala} {get_tala(wishes.tala).name} {words_of(wishes)}"


def _rows(archive: Archive, wanted: list[str]) -> list[str]:
    recordings = archive.index("recordings", ["recording", "title", "raga"])
    said = _joined(recordings, ["recording", "title", "raga"]) + " " + recordings["raga"].map(raga_name)
    of_recording = {word: set(recordings["recording"][_holds(said, word)]) for word in wanted}
    tihais = archive.index("tihais", ["recording", "tihai", "palla", "label", "tala", "status"])
    phrases = archive.index("phrases", ["recording", "phrase", "swaras", "role"])
    found: list[str] = []
    for key, rows, told in (
        ("tihai", tihais[tihais["status"] != "rejected"], ["tihai", "palla", "label", "tala"]),
        ("phrase", phrases, ["phrase", "swaras", "role"]),
    ):
        own = f"{key} " + _joined(rows, told)
        masks = [_holds(own, word) | np.asarray(rows["recording"].isin(of_recording[word])) for word in wanted]
        chosen = rows[np.logical_and.reduce(masks)]
        found += map("/".join, zip(chosen["recording"], chosen[key], strict=True))
    return found


def _joined(rows: pd.DataFrame, columns: list[str]) -> pd.Series[str]:
    texts = rows[columns].fillna("").astype(str)
    return texts[columns[0]].str.cat(texts[columns[1:]], sep=" ")


def _holds(texts: pd.Series[str], word: str) -> NDArray[np.bool_]:
    """Tell of which texts a word says something."""
    if len(word) <= SHORT:
        return np.asarray(texts.str.contains(_whole(word), regex=True), dtype=bool)
    return np.asarray(texts.str.casefold().str.contains(word.casefold(), regex=False), dtype=bool)


def _says(text: str, wanted: list[str]) -> bool:
    folded = fold(text)
    return all(
        re.search(_whole(word), text) if len(word) <= SHORT else word.casefold() in text.casefold() or _in(word, folded)
        for word in wanted
    )


def _in(word: str, folded: str) -> bool:
    return bool(fold(word)) and fold(word) in folded


def _whole(word: str) -> str:
    return rf"(?<!\S){re.escape(word)}(?!\S)"
