"""Phrases taken apart into their swaras, all at once: numbers instead of texts.

Conventions: a pitch is in semitones above the middle Sa; ``NO_PITCH`` stands for what is no swara (a bol).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from theory.errors import NotationError
from theory.notation import parse
from theory.swaras import letters, semitones_of, split_symbol

NO_PITCH = -1000
OCTAVES = 2  # as far as octave marks go
LONGEST_NGRAM = 6
_LEAPS = 128  # moves from -64 to 63 semitones are told apart: more than the octave marks can write


@dataclass(frozen=True)
class Lines:
    """The swaras of phrases one after the other.

    Attributes
    ----------
    pitch : ndarray of int, shape (k,)
        Of every swara, all phrases joined.
    first : ndarray of int, shape (n + 1,)
        Where the swaras of each phrase begin, and the end.
    """

    pitch: NDArray[np.int64]
    first: NDArray[np.int64]

    @property
    def owner(self) -> NDArray[np.int64]:
        """Number of the phrase that each swara belongs to, shape (k,)."""
        return np.repeat(np.arange(len(self.first) - 1), np.diff(self.first))


def lines_of(symbols: pd.Series) -> Lines:
    """Take phrases apart (the index's column ``symbols``)."""
    texts = pc.fill_null(pa.array(symbols, pa.large_string(), from_pandas=True), "")
    words = pc.split_pattern(texts, " ")
    words = words.combine_chunks() if isinstance(words, pa.ChunkedArray) else words
    encoded = words.flatten().dictionary_encode()
    pitches = np.array([_pitch(word) for word in encoded.dictionary.to_pylist()] or [NO_PITCH], dtype=np.int64)
    numbers = np.asarray(encoded.indices.to_numpy(zero_copy_only=False), dtype=np.int64)
    lengths = np.asarray(pc.list_value_length(words).to_numpy(zero_copy_only=False), dtype=np.int64)
    return Lines(pitches[numbers], np.concatenate([[0], np.cumsum(lengths)]))


def last_swaras(lines: Lines) -> NDArray[np.int64]:
    """Return the pitch that each phrase ends on, shape (n,)."""
    has_any = np.diff(lines.first) > 0
    ends = np.full(len(has_any), NO_PITCH)
    ends[has_any] = lines.pitch[lines.first[1:][has_any] - 1]
    return ends


def ngrams_of(lines: Lines, length: int) -> tuple[NDArray[np.int64], NDArray[np.object_]]:
    """Return every run of so many neighbouring swaras, none across the end of a phrase, none with a bol.

    Parameters
    ----------
    lines : Lines
    length : int
        1 to :data:`LONGEST_NGRAM`.

    Returns
    -------
    owner : ndarray of int, shape (r,)
        Number of the phrase.
    text : ndarray of str, shape (r,)
        The run, moved by octaves so that its first swara is in the middle one (if the others can be written then):
        ``".N S"`` and ``"N S'"`` are the same.
    """
    if not 1 <= length <= LONGEST_NGRAM:
        raise ValueError(f"length is {length}, not 1 to {LONGEST_NGRAM}")
    owner, runs = lines.owner, len(lines.pitch) - length + 1
    if runs <= 0:
        return np.zeros(0, np.int64), np.zeros(0, object)
    window = np.lib.stride_tricks.sliding_window_view(lines.pitch, length)
    whole = (owner[:runs] == owner[length - 1 :]) & (window != NO_PITCH).all(axis=1)
    window, owner = window[whole], owner[:runs][whole]
    code = window[:, 0] % 12
    for move in np.diff(window, axis=1).T:
        code = code * _LEAPS + (move + _LEAPS // 2)
    kinds, which = np.unique(code, return_inverse=True)
    return owner, np.array([_decoded(int(kind), length) for kind in kinds] or [""], dtype=object)[which]


def swara_lengths(swaras: pd.Series, lengths_s: pd.Series) -> pd.DataFrame:
    """Return how long each swara of each phrase sounds, by the phrase's notation stretched over its time.

    Parameters
    ----------
    swaras : Series of str, shape (n,)
        Phrases as written.
    lengths_s : Series of float, shape (n,)

    Returns
    -------
    DataFrame
        Columns owner (number of the phrase), letter, sounding_s; one row per phrase and letter. Silence is left
        out, and so is a phrase in bols or one that does not parse.
    """
    codes, kinds = pd.factorize(swaras)
    parts = [_shares(str(text)) for text in kinds]
    counts = np.array([len(part) for part in parts] or [0], dtype=np.int64)
    begin = np.concatenate([[0], np.cumsum(counts)])
    letter = np.array([letter for part in parts for letter, _ in part], dtype=object)
    share = np.array([share for part in parts for _, share in part], dtype=float)
    codes = np.asarray(codes)
    each = np.where(codes >= 0, counts[codes], 0)
    owner = np.repeat(np.arange(len(codes)), each)
    within = np.arange(len(owner)) - np.repeat(np.cumsum(each) - each, each)
    picked = begin[codes[owner]] + within
    sounding_s = share[picked] * lengths_s.to_numpy(dtype=float)[owner]
    return pd.DataFrame({"owner": owner, "letter": letter[picked], "sounding_s": sounding_s})


@lru_cache(maxsize=65536)
def _shares(text: str) -> tuple[tuple[str, float], ...]:
    """Return the letters of a phrase with their share of its length."""
    try:
        passage = parse(text)
    except NotationError:
        return ()
    if passage.system != "sargam":
        return ()
    sums: dict[str, float] = {}
    for note in passage.notes:
        letter = split_symbol(note.symbol)[0].letter
        sums[letter] = sums.get(letter, 0.0) + float(note.length / passage.length)
    return tuple(sums.items())


def _pitch(word: str) -> int:
    try:
        return semitones_of(word)
    except NotationError:
        return NO_PITCH


def _decoded(code: int, length: int) -> str:
    moves = []
    for _ in range(length - 1):
        code, move = divmod(code, _LEAPS)
        moves.append(move - _LEAPS // 2)
    pitches = np.cumsum([code, *reversed(moves)])
    below, above = pitches.min() // 12 + OCTAVES, pitches.max() // 12 - OCTAVES
    shift = -12 * (min(below, 0) + max(above, 0))  # a leap of three octaves could not be written from the middle one
    return " ".join(written(pitch) for pitch in (pitches + shift).tolist())


def written(pitch: int) -> str:
    """Return a pitch as a swara with its octave marks, as many as it takes."""
    octave, step = divmod(pitch, 12)
    return "." * -octave + letters()[step] + "'" * octave
