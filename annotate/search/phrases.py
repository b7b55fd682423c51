"""Finding phrases in the whole archive: by swaras with wildcards, by contour, by role, raga and place.

A search goes over the index's columns as vectors, never recording by recording.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from annotate.archive import Archive
from annotate.errors import BadPattern
from annotate.search.named import of_raga, of_recording, of_tala, of_text
from annotate.search.patterns import By, contour_of, contour_regex, matches, swara_regex
from annotate.search.spans import Span
from theory.errors import UnknownName
from theory.talas import get_tala

AHEAD_MATRAS = 1 / 8
"""A phrase that starts this close to a matra is counted on it: nobody plays exactly on the grid."""

FOUND = (
    "recording", "phrase", "start_s", "end_s", "raga", "swaras", "symbols", "role", "tala", "cycle", "matra",
    "laya_matras_per_min", "semitones", "steps", "who",
)  # fmt: skip
"""Columns of what is found, as in the index."""


@dataclass(frozen=True)
class PhraseSearch:
    """What is asked of a phrase; everything given must hold.

    Attributes
    ----------
    swaras : str
        Pattern of the whole phrase (see :mod:`annotate.search.patterns`).
    octaves : bool
        Whether a swara without an octave mark means the middle octave only.
    contour : str
        Pattern of its moves.
    like : str
        A phrase whose contour it shares; by steps each is counted on the ladder of its raga.
    by : "direction", "steps" or "semitones"
        How moves are compared.
    anywhere : bool
        Whether the pattern or contour may be that of a part of the phrase.
    raga, role, tala, who, recording : str
        Names in any usual spelling; '' for any.
    matra : Span, optional
        Where in the avartan it starts, within an eighth of a matra.
    laya : Span, optional
        Matras a minute.
    """

    swaras: str = ""
    octaves: bool = False
    contour: str = ""
    like: str = ""
    by: By = "steps"
    anywhere: bool = False
    raga: str = ""
    role: str = ""
    tala: str = ""
    who: str = ""
    recording: str = ""
    matra: Span | None = None
    laya: Span | None = None


def find_phrases(archive: Archive, search: PhraseSearch) -> pd.DataFrame:
    """Return the phrases of the archive for which everything asked holds.

    Returns
    -------
    DataFrame
        One row per phrase, columns :data:`FOUND`, in order of recording and time.

    Raises
    ------
    theory.errors.UnknownName, NoSuchRecording
        A name that neither the tables nor the archive have; offers the nearest.
    BadPattern
    """
    with archive.one_look():
        rows = archive.index("phrases", FOUND)
        found = rows.loc[np.logical_and.reduce(list(_masks(rows, search, archive))), list(FOUND)]
    return found.sort_values(["recording", "start_s"], ignore_index=True)


def _masks(rows: pd.DataFrame, search: PhraseSearch, archive: Archive) -> Iterator[NDArray[np.bool_]]:
    yield np.ones(len(rows), dtype=bool)
    if search.recording:
        yield of_recording(rows["recording"], archive.slugs(), search.recording)
    if search.tala:
        yield of_tala(rows["tala"], search.tala)
    if search.raga:
        yield of_raga(rows["raga"], search.raga, archive.index("recordings", ["raga"])["raga"])
    for column, what, name in (("role", "role of a phrase", search.role), ("who", "annotator", search.who)):
        if name:
            yield of_text(rows[column], what, name)
    if search.laya is not None:
        yield search.laya.of_values(rows["laya_matras_per_min"])
    if search.matra is not None:
        yield search.matra.of_values(_round_the_cycle(rows["tala"], rows["matra"]), AHEAD_MATRAS)
    if search.swaras:
        yield matches(rows["symbols"], swara_regex(search.swaras, search.octaves, search.anywhere))
    if search.contour:
        yield matches(rows[_moves_column(search.by, search.contour)], contour_regex(search.contour, search.anywhere))
    if search.like:
        yield _like(rows, search)


def _moves_column(by: By, contour: str) -> str:
    """Steps are needed only where the contour counts them: up and down are known of every line of swaras."""
    return "steps" if by == "steps" and any(sign.isdigit() for sign in contour) else "semitones"


def _like(rows: pd.DataFrame, search: PhraseSearch) -> NDArray[np.bool_]:
    if search.by != "steps":
        return matches(rows["semitones"], contour_regex(contour_of(search.like, search.by), search.anywhere))
    contour_of(search.like, "semitones")  # refuses what is no line of swaras
    by_contour: dict[str, list[str]] = {}
    for raga in rows["raga"].dropna().unique():  # each raga has its own ladder
        with contextlib.suppress(BadPattern):  # a swara that is on no rung of it
            by_contour.setdefault(contour_of(search.like, "steps", raga), []).append(raga)
    found = np.zeros(len(rows), dtype=bool)
    for contour, ragas in by_contour.items():
        found = found | matches(rows["steps"], contour_regex(contour, search.anywhere)) & np.asarray(
            rows["raga"].isin(ragas), dtype=bool
        )
    return found


def _round_the_cycle(talas: pd.Series, matra: pd.Series) -> pd.Series:
    """Return the places with those just before sam counted on it: 16.95 of teental is 0.95."""
    lengths = {}
    for tala in talas.dropna().unique():
        try:
            lengths[tala] = float(get_tala(tala).matras)
        except UnknownName:  # a tala of one's own whose file is gone; outside any tala
            lengths[tala] = np.inf
    length = talas.map(lengths).astype(float).fillna(np.inf)
    return matra.where(matra < length + 1 - AHEAD_MATRAS, matra - length)
