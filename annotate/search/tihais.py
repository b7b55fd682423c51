"""Finding tihais in the whole archive by any mixture of what is written of them and what follows from it.

A search goes over the index's columns as vectors, never recording by recording.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from annotate.archive import Archive
from annotate.errors import BadAnnotation, NoSuchTihai
from annotate.search.named import of_kind, of_raga, of_recording, of_tala, of_text
from annotate.search.patterns import matches, swara_regex
from annotate.search.spans import Span

FOUND = (
    "recording", "tihai", "first_palla_s", "landing_s", "raga", "tala", "start", "palla", "palla_length", "dam", "rule",
    "target", "kinds", "kind", "played_by", "status", "laya_matras_per_min", "verdict", "landing_dev_ms", "paper_lands",
    "label", "who",
)  # fmt: skip
"""Columns of what is found, as in the index, but for ``first_palla_s``: where the first palla begins."""

_READ = (
    *(name for name in FOUND if name != "first_palla_s"), "palla_s", "start_matras", "palla_length_matras",
    "dam_matras", "target_matras", "symbols", "after_palla", "after_dam",
)  # fmt: skip


@dataclass(frozen=True)
class TihaiSearch:
    """What is asked of a tihai; everything given must hold.

    Attributes
    ----------
    tala, raga, kind, played_by, who, recording : str
        Names in any usual spelling; '' for any.
    start, palla, dam, target : Span, optional
        Start and target matra, lengths of palla and dam on paper, in matras.
    rule : str
        Landing rule, "within" or "after".
    verdict : str
        As played: lands, early, late, misses, unknown.
    on_paper : bool, optional
        Whether the sum lands.
    laya : Span, optional
        Matras a minute at that place.
    swaras : str
        Pattern of the palla (see :mod:`annotate.search.patterns`).
    status : str
        By default all but those rejected.
    """

    tala: str = ""
    raga: str = ""
    kind: str = ""
    played_by: str = ""
    who: str = ""
    recording: str = ""
    start: Span | None = None
    palla: Span | None = None
    dam: Span | None = None
    target: Span | None = None
    rule: str = ""
    verdict: str = ""
    on_paper: bool | None = None
    laya: Span | None = None
    swaras: str = ""
    status: str = ""


def find_tihais(archive: Archive, search: TihaiSearch) -> pd.DataFrame:
    """Return the tihais of the archive for which everything asked holds.

    Returns
    -------
    DataFrame
        One row per tihai, columns :data:`FOUND`, in order of recording and time.

    Raises
    ------
    theory.errors.UnknownName, NoSuchRecording
        A name that neither the tables nor the archive have; offers the nearest.
    BadPattern
    """
    with archive.one_look():
        rows = archive.index("tihais", _READ)
        return _shown(rows[np.logical_and.reduce(list(_masks(rows, search, archive)))])


def like_tihai(archive: Archive, recording: str, tihai: str) -> pd.DataFrame:
    """Return where else a tihai is played: with the same arithmetic, with the same swaras.

    Parameters
    ----------
    archive : Archive
    recording, tihai : str
        The tihai to compare with.

    Returns
    -------
    DataFrame
        The others with either in common, those with both first. Beside the columns :data:`FOUND`: ``same_arithmetic``
        (tala, start, palla and dam, counted by the same rule), ``same_swaras`` (or bols, whatever octave and rhythm)
        and ``same_octaves`` (the octaves as well).

    Raises
    ------
    NoSuchRecording, NoSuchTihai
    BadAnnotation
        Nothing is written of it that others could have in common.
    """
    record = archive.state(recording).tihai(tihai)
    rows = archive.index("tihais", _READ)
    own = (rows["recording"] == recording) & (rows["tihai"] == tihai)
    found = rows[own]
    if found.empty:
        raise NoSuchTihai(tihai, recording, rows.loc[rows["recording"] == recording, "tihai"].tolist())
    one = found.iloc[0]
    if not record.palla:
        raise BadAnnotation(
            f"Tihai '{tihai}' of '{recording}' has no palla written down, so nothing can be like it. "
            "Write its palla, dam and start first."
        )
    arithmetic = np.zeros(len(rows), dtype=bool)
    if pd.notna(one["after_dam"]) and pd.notna(one["start"]) and one["tala"]:
        arithmetic = of_tala(rows["tala"], one["tala"].partition("/")[0])
        for name in ("start", "after_palla", "after_dam"):
            arithmetic = arithmetic & np.asarray(rows[name] == one[name], dtype=bool)
    octaves = np.asarray(rows["symbols"] == one["symbols"], dtype=bool)
    swaras = np.asarray(_letters(rows["symbols"]) == _letters(found["symbols"]).iloc[0], dtype=bool)
    keep = (arithmetic | swaras) & ~np.asarray(own) & np.asarray(rows["status"] != "rejected", dtype=bool)
    marks = {"same_arithmetic": arithmetic, "same_swaras": swaras, "same_octaves": octaves}
    likes = _shown(rows[keep].assign(**{name: mark[keep] for name, mark in marks.items()}), (*FOUND, *marks))
    order = likes["same_arithmetic"].astype(int) + likes["same_swaras"].astype(int)
    return likes.loc[order.sort_values(ascending=False, kind="stable").index].reset_index(drop=True)


def _masks(rows: pd.DataFrame, search: TihaiSearch, archive: Archive) -> Iterator[NDArray[np.bool_]]:
    yield np.asarray(rows["status"] == search.status if search.status else rows["status"] != "rejected", dtype=bool)
    if search.recording:
        yield of_recording(rows["recording"], archive.slugs(), search.recording)
    if search.tala:
        yield of_tala(rows["tala"], search.tala)
    if search.raga:
        yield of_raga(rows["raga"], search.raga, archive.index("recordings", ["raga"])["raga"])
    if search.kind:
        yield of_kind(rows["kinds"], rows["kind"], search.kind)
    for column, what, name in (("played_by", "player of a tihai", search.played_by), ("who", "annotator", search.who)):
        if name:
            yield of_text(rows[column], what, name)
    for column, span in (("start", search.start), ("dam", search.dam), ("target", search.target)):
        if span is not None:
            yield span.of_counts(rows[column], rows[f"{column}_matras"])
    if search.palla is not None:
        yield search.palla.of_counts(rows["palla_length"], rows["palla_length_matras"])
    if search.laya is not None:
        yield search.laya.of_values(rows["laya_matras_per_min"])
    for column, value in (("rule", search.rule), ("verdict", search.verdict)):
        if value:
            yield np.asarray(rows[column] == value, dtype=bool)
    if search.on_paper is not None:
        yield np.asarray(rows["paper_lands"].eq(search.on_paper).fillna(False), dtype=bool)
    if search.swaras:
        yield matches(rows["symbols"], swara_regex(search.swaras))


def _shown(rows: pd.DataFrame, columns: Sequence[str] = FOUND) -> pd.DataFrame:
    first_s = [float(starts[0]) for starts in rows["palla_s"]]
    shown = rows.assign(first_palla_s=pd.Series(first_s, index=rows.index, dtype=float))[list(columns)]
    return shown.sort_values(["recording", "first_palla_s"], ignore_index=True)


def _letters(symbols: pd.Series) -> pd.Series:
    return symbols.str.replace("[.']", "", regex=True)
