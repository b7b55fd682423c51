"""From the archive to the data of the folded page.

Aim
    A :class:`Fold` is a recording folded at sam as of one revision: its rows with what runs over them. What the page
    needs to lay itself out is small and is sent at once (:attr:`Fold.outline`); what stands in the rows is sent as they
    come near (:meth:`Fold.details`). A row's key follows from all that is drawn in it, so that after an edit only the
    rows whose key has changed are asked for again.

Conventions
    As in :mod:`dashboard.figures.fold`. A fold is a value: after an edit there is another.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from annotate.archive import Archive
from annotate.grid import Grid, RecordingGrid
from annotate.records import PhraseRecord, Section, TihaiRecord
from annotate.state import State
from annotate.swaras import raga_swaras
from annotate.verify import Verdict, section_of
from dashboard.figures.fold import FREE_COLUMN_S, FREE_COLUMNS, Row, Stretch, fold_rows, own_span_s, tala_data, ticks
from dashboard.figures.runs import PhraseRun, TihaiRun, add_phrases, add_tihais, lanes_of
from dashboard.figures.strokes import strokes_of_row
from dashboard.heard import Heard
from dashboard.words import landing_words, tihai_title
from theory.errors import LayakoshError
from theory.notation import parse
from theory.passage import EMPTY
from theory.swaras import all_swaras
from theory.talas import get_tala

RUNS = ("pallas", "links", "landings", "aims", "phrases")
CELLS = (4, 16, 64, 256, 1024)
"""Into how many steps a column may be asked to be drawn: about a pixel each."""
_PASSAGE_CELLS = 256
_AROUND_S = 1.5  # heard before the first palla and after the landing of a passage


@dataclass(frozen=True, eq=False)
class Fold:
    """A recording folded at sam.

    Parameters
    ----------
    slug : str
    version : str
        Changes with every revision and whenever the sound is measured anew.
    state : State
    duration_s : float
    stretches : list of Stretch
    rows : list of Row
        With ``pallas``, ``links``, ``landings``, ``aims``, ``phrases`` in them.
    tihais : list of dict
        Where each tihai runs, for the overview and for the player.
    heard : Heard
    """

    slug: str
    version: str
    state: State
    duration_s: float
    stretches: list[Stretch]
    rows: list[Row]
    tihais: list[dict[str, Any]]
    heard: Heard = field(repr=False)

    @cached_property
    def outline(self) -> dict[str, Any]:
        """What the page is laid out by: stretches, times of rows, the room each needs, tihais, loudness."""
        return self._about() | {
            "rows": self._outlined(range(len(self.rows))),
            "tihais": self.tihais,
            "loudness": self.heard.loudness,
            "passage": None,
        }

    def details(self, first: int, last: int, cells: int) -> list[dict[str, Any]]:
        """Return what stands in the rows ``first`` to ``last`` (exclusive; cut to those there are), in order.

        Parameters
        ----------
        first, last : int
        cells : int
            One of :data:`CELLS`: a column is drawn in so many steps.
        """
        return [self._detail(index, cells) for index in range(max(first, 0), min(last, len(self.rows)))]

    def passage(self, record: TihaiRecord) -> dict[str, Any]:
        """Return the rows that a tihai runs through, with all that stands in them; playing stops where it ends."""
        from_s, to_s = record.palla_s[0] - _AROUND_S, record.landing_s + _AROUND_S
        kept = [i for i, row in enumerate(self.rows) if row["t"][-1] > record.palla_s[0] and row["t"][0] < to_s]
        details = [self._detail(index, _PASSAGE_CELLS) for index in kept]
        for detail in details:
            for name in ("pallas", "links", "landings", "aims"):
                detail[name] = [each for each in detail[name] if each["id"] == record.tihai]
        passage = {"from_s": max(from_s, 0.0), "to_s": min(to_s, self.duration_s)}
        return self._about() | {
            "at_s": passage["from_s"],
            "rows": self._outlined(kept),
            "details": details,
            "tihais": [each for each in self.tihais if each["id"] == record.tihai],
            "loudness": [],
            "passage": passage,
        }

    def with_only(self, record: TihaiRecord, verdict: Verdict, grid: RecordingGrid, href: str) -> Fold:
        """Return the same recording with one tihai over its rows, which need not be written down, and no other.

        ``href`` is where its landing leads. Its key is not said beside the landing: there is no other to take it for.
        """
        rows: list[Row] = [row | {name: [] for name in RUNS if name != "phrases"} for row in self.rows]
        run = _tihai_run(self.slug, record, verdict, grid)
        run = replace(run, href=href, landing_text=run.landing_text.removeprefix(f"{record.tihai} "))
        add_tihais(rows, [run])
        return replace(self, rows=rows, tihais=[_drawn(run)])

    def _about(self) -> dict[str, Any]:
        used = raga_swaras(self.state.recording.raga)
        return {
            "slug": self.slug,
            "version": self.version,
            "duration_s": self.duration_s,
            "strokes": self.heard.has_strokes,
            "swaras": [
                {"letter": each.letter, "said": each.full, "used": not used or each.letter in used}
                for each in all_swaras()
            ],
            "talas": {each.tala.key: tala_data(each.tala) for each in self.stretches if each.tala is not None},
            "stretches": [_stretch_data(stretch) for stretch in self.stretches],
        }

    def _outlined(self, indices: Sequence[int]) -> list[dict[str, Any]]:
        return [
            {
                "stretch": row["stretch"],
                "label": row["label"],
                "first": row["first"],
                "ticks": ticks(row),
                "marked": row["marked"],
                "key": self._keys[index],
                "range": self._ranges[index],
                "tihais": lanes_of(row, ("pallas", "links", "landings", "aims")),
                "phrases": lanes_of(row, ("phrases",)),
                "landings": len(row["landings"]),
            }
            for index, row in ((index, self.rows[index]) for index in indices)
        ]

    @cached_property
    def _ranges(self) -> list[tuple[int, int] | None]:
        if self.heard.contour is None:
            return [None] * len(self.rows)
        return self.heard.contour.ranges([own_span_s(self.rows, index) for index in range(len(self.rows))])

    @cached_property
    def _keys(self) -> list[str]:
        spans_s = [own_span_s(self.rows, index) for index in range(len(self.rows))]
        about = [self.heard.stamp, self.state.recording.raga]
        return [
            _digest([about, span_s, row["t"], row["first"], row["marked"], *(row[name] for name in RUNS)])
            for row, span_s in zip(self.rows, spans_s, strict=True)
        ]

    def _detail(self, index: int, cells: int) -> dict[str, Any]:
        row, span_s = self.rows[index], own_span_s(self.rows, index)
        detail: dict[str, Any] = {name: list(row[name]) for name in RUNS} | {"key": self._keys[index], "cells": cells}
        for band in ("treble", "bass"):
            heard = self.heard.strokes.get(band)
            detail[band] = None if heard is None else strokes_of_row(row, span_s, *heard, cells)
        contour = self.heard.contour
        column_s = float(np.median(np.diff(row["t"])))
        detail["melody"] = None if contour is None else contour.between(*span_s, column_s / cells)
        return detail


def fold(archive: Archive, slug: str, version: str, verdicts: list[Verdict], heard: Heard) -> Fold:
    """Fold a recording.

    Parameters
    ----------
    archive : Archive
    slug : str
        An existing recording.
    version : str
        What the fold is told apart by from later ones.
    verdicts : list of Verdict
        Of this recording's tihais.
    heard : Heard
        Its strokes and melody.
    """
    state, grid = archive.state(slug), archive.grid(slug)
    stretches = _stretches(state, grid.sections)
    duration_s = state.recording.duration_s or max((stretch.end_s for stretch in stretches), default=0.0)
    rows = fold_rows(stretches, duration_s)
    _mark_sams(rows, state, stretches)
    add_phrases(rows, [_phrase_run(phrase) for phrase in state.phrases])
    by_key = {verdict.tihai: verdict for verdict in verdicts}
    runs = [_tihai_run(slug, each, by_key.get(each.tihai), grid) for each in state.tihais if each.status != "rejected"]
    add_tihais(rows, runs)
    return Fold(slug, version, state, duration_s, stretches, rows, [_drawn(run) for run in runs], heard)


def _drawn(run: TihaiRun) -> dict[str, Any]:
    """Where a tihai runs, for the overview and for the player."""
    return {
        "id": run.tihai,
        "palla_s": list(run.palla_s),
        "landing_s": run.landing_s,
        "status": run.status,
        "verdict": run.verdict,
        "title": run.title,
        "href": run.href,
    }


def _digest(parts: Any) -> str:
    return hashlib.blake2b(json.dumps(parts).encode(), digest_size=6).hexdigest()


def _stretches(state: State, grids: tuple[Grid, ...]) -> list[Stretch]:
    by_name = {grid.section: grid for grid in grids}
    stretches: list[Stretch] = []
    for section in state.sections:
        # a section that begins inside the one before it is shown from where that one ends
        start_s = max(section.start_s, stretches[-1].end_s if stretches else 0.0)
        if section.end_s > start_s:
            stretches.append(_stretch(section, start_s, by_name.get(section.section)))
    return stretches


def _stretch(section: Section, start_s: float, grid: Grid | None) -> Stretch:
    tala = get_tala(section.tala) if section.tala else None
    unnamed = tala is not None and tala.name.casefold() not in section.section.casefold()
    title = f"{section.section}, {tala.name}" if tala is not None and unnamed else section.section
    if grid is None:
        return Stretch(title if tala is None else f"{title} (no sam known yet)", start_s, section.end_s)
    kept = grid.matra_s >= start_s
    return Stretch(title, start_s, section.end_s, grid.tala, grid.cycle[kept], grid.matra[kept], grid.matra_s[kept])


def _stretch_data(stretch: Stretch) -> dict[str, Any]:
    about = {"title": stretch.title, "start_s": stretch.start_s, "end_s": stretch.end_s}
    if stretch.tala is None or len(stretch.matra_s) < 2:
        return about | {"tala": None, "columns": FREE_COLUMNS, "column_s": FREE_COLUMN_S, "laya": ""}
    per_minute = 60 / float(np.median(np.diff(stretch.matra_s)))
    return about | {
        "tala": stretch.tala.key,
        "columns": stretch.tala.matras,
        "laya": f"{per_minute:.0f} matras a minute" if per_minute >= 20 else f"{per_minute:.1f} matras a minute",
    }


def _mark_sams(rows: list[Row], state: State, stretches: list[Stretch]) -> None:
    marked = np.array([sam.sam_s for sam in state.marked_sams])
    for row in rows:
        if row["stretch"] >= 0 and stretches[row["stretch"]].tala is not None and row["first"] == 1:
            # a marked sam comes back from the fit exactly; the row's times are kept to a tenth of a millisecond
            row["marked"] = bool(np.any(np.abs(marked - row["t"][0]) < 1e-3))


def _tihai_run(slug: str, record: TihaiRecord, verdict: Verdict | None, grid: RecordingGrid) -> TihaiRun:
    length, notes = _passage_of(record.palla)
    return TihaiRun(
        tihai=record.tihai,
        palla_s=record.palla_s,
        landing_s=record.landing_s,
        palla_matras=length,
        notes=notes,
        status=record.status,
        title=f"{tihai_title(record)}. {verdict.sentence}" if verdict is not None else tihai_title(record),
        verdict=verdict.verdict if verdict is not None else "unknown",
        landing_text=landing_words(verdict) if verdict is not None else record.tihai,
        href=f"/tihais/{slug}/{record.tihai}",
        aim_s=_aim_s(record, verdict, grid),
    )


def _aim_s(record: TihaiRecord, verdict: Verdict | None, grid: RecordingGrid) -> float | None:
    section = section_of(record, grid)
    if verdict is None or section is None or verdict.verdict in ("lands", "unknown"):
        return None
    return section.nearest_occurrence(record.landing_s, record.target)[1]


def _phrase_run(record: PhraseRecord) -> PhraseRun:
    return PhraseRun(
        record.phrase, record.start_s, record.end_s, record.swaras, record.role, _shares_of_notes(record.swaras)
    )


@lru_cache(maxsize=4096)
def _passage_of(text: str) -> tuple[Fraction | None, tuple[tuple[Fraction, str], ...]]:
    """Length and notes (onset in matras, symbol) of what is written; None and nothing where it cannot be read."""
    try:
        palla = parse(text) if text else EMPTY
    except LayakoshError:
        palla = EMPTY
    return palla.length or None, tuple((note.onset, note.symbol) for note in palla.notes)


@lru_cache(maxsize=4096)
def _shares_of_notes(text: str) -> tuple[tuple[float, str], ...]:
    """The notes of a phrase (share of its length at which each begins, symbol); nothing where it cannot be read."""
    length, notes = _passage_of(text)
    return tuple((float(onset / length), symbol) for onset, symbol in notes) if length else ()
