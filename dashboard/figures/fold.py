"""The page folded at sam, as plain data: which time lies in which row, and what is drawn over it.

Aim
    One row per avartan, matra 1 at the left. From the times of the matras to rows, and from strokes, tihais and phrases
    (times in seconds) to the pieces of each row that they run through. Drawn by ``assets/rows.mjs``; the running cursor
    folds in the same way in ``assets/fold.mjs``.

Conventions
    Times in seconds. A row is ``{stretch, label, first, t, ...}``: ``t`` holds the time of each of its columns and,
    last, the time where it ends; ``first`` is its first column, counted from 1. A column is a matra where there is a
    tala and :data:`FREE_COLUMN_S` seconds where there is none. x counts columns from the left edge, so sam is x = 0.
    Between columns the fold is linear, as the grid is between matras.
    Everything is built of dicts, lists, strings and numbers, since it travels to the browser as JSON.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from theory.talas import Tala

FREE_COLUMN_S = 5.0
FREE_COLUMNS = 4
_EARLY_COLUMNS = (
    0.2  # what begins or lands at most this early is drawn beside the sam it is meant for, left of the edge
)
_SHORTEST_FREE_S = 1.0  # a gap shorter than this between two stretches gets no row of its own

Row = dict[str, Any]


@dataclass(frozen=True)
class Stretch:
    """A stretch of the recording with the times of its matras.

    Parameters
    ----------
    title : str
        What the page calls it ("gat, Teental").
    start_s, end_s : float
        Where it begins and ends.
    tala : Tala or None
        None for alap, talk, tuning.
    cycle, matra : (k,) int
        Avartan and matra (from 1) of each grid point; empty without a tala.
    matra_s : (k,) float
        Their times, ascending.
    """

    title: str
    start_s: float
    end_s: float
    tala: Tala | None = None
    cycle: NDArray[np.integer] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    matra: NDArray[np.integer] = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    matra_s: NDArray[np.floating] = field(default_factory=lambda: np.empty(0))


@dataclass(frozen=True)
class TihaiRun:
    """A tihai as it is drawn: where it was played, and what the palla is.

    ``palla_matras`` and ``notes`` (onset in matras from the palla's start, symbol) come from the palla's text and may
    be missing; then a palla is drawn up to the next one. ``verdict`` is the style, ``landing_text`` what stands
    beside it.
    """

    tihai: str
    palla_s: tuple[float, ...]
    landing_s: float
    palla_matras: Fraction | None = None
    notes: tuple[tuple[Fraction, str], ...] = ()
    status: str = "confirmed"
    title: str = ""
    verdict: str = ""
    landing_text: str = ""
    href: str = ""


@dataclass(frozen=True)
class PhraseRun:
    """A phrase as it is drawn; ``notes`` are (share of its length at which it begins, symbol), first at 0."""

    phrase: str
    start_s: float
    end_s: float
    text: str
    role: str = ""
    notes: tuple[tuple[float, str], ...] = ()


def fold_rows(stretches: Sequence[Stretch], duration_s: float) -> list[Row]:
    """Cut a recording into rows, in order of time.

    Parameters
    ----------
    stretches : sequence of Stretch
        In order of time, not overlapping.
    duration_s : float
        Length of the recording; time that no avartan covers gets rows of 20 s.
    """
    rows: list[Row] = []
    now_s = 0.0
    for number, stretch in enumerate(stretches):
        avartans = _avartans(stretch, number)
        begin_s = avartans[0]["t"][0] if avartans else stretch.start_s
        rows += _free_rows(now_s, min(begin_s, stretch.start_s), -1)
        if avartans:
            rows += _free_rows(stretch.start_s, begin_s, number) + avartans
            now_s = avartans[-1]["t"][-1]
        else:
            rows += _free_rows(stretch.start_s, stretch.end_s, number)
            now_s = stretch.end_s
    return rows + _free_rows(now_s, duration_s, -1)


def place(rows: Sequence[Row], time_s: float) -> tuple[int, float] | None:
    """Fold a time: the row's index and x, or None where there is no row."""
    begins = np.array([row["t"][0] for row in rows])
    index = int(np.searchsorted(begins, time_s, side="right")) - 1
    if index < 0 or time_s > rows[index]["t"][-1]:
        return None
    return index, float(_along(rows[index], np.array([time_s]))[0])


def add_strokes(rows: Sequence[Row], band: str, stroke_s: NDArray[np.float64], strength: NDArray[np.int64]) -> None:
    """Lay the strokes of one band ("treble", "bass") into the rows: flat lists of hundredths of a column, strength."""
    for row, following in zip(rows, [*rows[1:], None], strict=True):
        end_s = row["t"][-1] if following is None else min(row["t"][-1], following["t"][0])
        first, last = np.searchsorted(stroke_s, [row["t"][0], end_s])
        x = np.round(100 * _along(row, stroke_s[first:last])).astype(int)
        row[band] = np.column_stack([x, strength[first:last]]).ravel().tolist()


def add_phrases(rows: Sequence[Row], phrases: Sequence[PhraseRun]) -> None:
    """Lay phrases over the rows they run through."""
    for lane, phrase in zip(_lanes([(p.start_s, p.end_s) for p in phrases]), phrases, strict=True):
        here, there = place(rows, phrase.start_s), place(rows, phrase.end_s)
        if here is None or there is None:
            continue
        here = _beside_its_target(rows, here)
        title = (
            f"{phrase.role + ': ' if phrase.role else ''}{phrase.text} ({phrase.start_s:.2f} to {phrase.end_s:.2f} s)"
        )
        pieces = _pieces(rows, here, there)
        for piece, notes in zip(pieces, _share_out(pieces, phrase.notes), strict=True):
            about = {"id": phrase.phrase, "lane": lane, "role": phrase.role, "title": title, "notes": notes}
            rows[piece.pop("row")]["phrases"].append(piece | about)


def add_tihais(rows: Sequence[Row], tihais: Sequence[TihaiRun]) -> None:
    """Lay tihais over the rows they run through: three pallas alike, the dam between them, the landing."""
    for lane, tihai in zip(_lanes([(t.palla_s[0], t.landing_s) for t in tihais]), tihais, strict=True):
        starts = [place(rows, start_s) for start_s in tihai.palla_s]
        landing = place(rows, tihai.landing_s)
        if landing is None or any(start is None for start in starts):
            continue
        begins = [_beside_its_target(rows, start) for start in starts if start is not None]
        landing = _beside_its_target(rows, landing)
        for number, (begin, nxt) in enumerate(zip(begins, [*begins[1:], landing], strict=True), 1):
            end = nxt
            if tihai.palla_matras is not None:
                # the third palla may ring on past the landing (rule "within"), the others never run into the next
                end = _advance(rows, begin, float(tihai.palla_matras))
                end = end if number == len(begins) else min(end, nxt)
            _lay_palla(rows, tihai, number, lane, begin, end)
            if end < nxt:
                for piece in _pieces(rows, end, nxt):
                    rows[piece.pop("row")]["links"].append(piece | {"id": tihai.tihai, "lane": lane})
        index, x = landing
        rows[index]["landings"].append(
            {
                "id": tihai.tihai,
                "lane": lane,
                "x": round(x, 4),
                "verdict": tihai.verdict,
                "text": tihai.landing_text,
                "title": tihai.title,
                "href": tihai.href,
            }
        )


def tala_data(tala: Tala) -> dict[str, Any]:
    """What the head of a stretch shows of its tala: vibhags, signs, theka; and a sentence for those who listen."""
    ends = [*tala.vibhag_starts[1:], tala.matras + 1]
    khali = {mark.matra for mark in tala.marks if mark.kind == "khali"}
    words = ["" for _ in range(tala.matras)]
    for note in tala.theka.notes:
        words[int(note.onset)] += note.symbol
    signs = ", ".join(f"{mark.label} ({mark.kind}) on {mark.matra}" for mark in tala.marks)
    return {
        "name": tala.name,
        "matras": tala.matras,
        "vibhags": list(tala.vibhag_starts),
        "khali": [[a, b] for a, b in zip(tala.vibhag_starts, ends, strict=True) if a in khali],
        "marks": [{"matra": mark.matra, "label": mark.label, "kind": mark.kind} for mark in tala.marks],
        "theka": [word or "–" for word in words],
        "said": f"{tala.name}, {tala.matras} matras: {signs}. Theka: {' '.join(word or '-' for word in words)}",
    }


def _avartans(stretch: Stretch, number: int) -> list[Row]:
    if stretch.tala is None or len(stretch.matra_s) < 2:
        return []
    times = np.asarray(stretch.matra_s, dtype=np.float64)
    cuts = np.flatnonzero(np.diff(stretch.cycle)) + 1
    begins, ends = [0, *cuts.tolist()], [*cuts.tolist(), len(times)]
    last_s = max(min(float(2 * times[-1] - times[-2]), stretch.end_s), float(times[-1]) + 0.01)
    rows = []
    for begin, end in zip(begins, ends, strict=True):
        close_s = float(times[end]) if end < len(times) else last_s
        cycle = int(stretch.cycle[begin])
        row = _row(number, str(cycle) if cycle > 0 else "", [*times[begin:end].tolist(), close_s])
        rows.append(row | {"first": int(stretch.matra[begin])})
    return rows


def _free_rows(start_s: float, end_s: float, number: int) -> list[Row]:
    if end_s - start_s < _SHORTEST_FREE_S:
        return []
    rows = []
    width_s = FREE_COLUMN_S * FREE_COLUMNS
    for begin_s in np.arange(start_s, end_s, width_s).tolist():
        steps = [begin_s + FREE_COLUMN_S * i for i in range(FREE_COLUMNS + 1)]
        # whole columns only, so that 5 s are equally wide everywhere: the last may reach past the stretch, where the
        # next row begins and, beginning later, is the one that the fold finds
        rows.append(
            _row(
                number,
                "",
                [steps[0], *(step for before, step in pairwise(steps) if before < end_s)],
            )
        )
    return rows


def _row(stretch: int, label: str, times: Sequence[float]) -> Row:
    lists: dict[str, list[Any]] = {name: [] for name in ("treble", "bass", "pallas", "links", "landings", "phrases")}
    shown = [round(time, 4) for time in times]
    return {"stretch": stretch, "label": label, "first": 1, "t": shown, "marked": False} | lists


def _along(row: Row, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    t = row["t"]
    x: NDArray[np.float64] = np.interp(times_s, t, np.arange(len(t))) + row["first"] - 1
    return x


def _end(row: Row) -> int:
    return int(row["first"]) - 1 + len(row["t"]) - 1


def _advance(rows: Sequence[Row], here: tuple[int, float], columns: float) -> tuple[int, float]:
    """Go on by so many columns, over the ends of rows; not beyond the stretch."""
    index, x = here[0], here[1] + columns
    while x > _end(rows[index]):
        if index + 1 == len(rows) or rows[index + 1]["stretch"] != rows[index]["stretch"]:
            return index, float(_end(rows[index]))
        x += rows[index + 1]["first"] - 1 - _end(rows[index])
        index += 1
    return index, x


def _pieces(rows: Sequence[Row], here: tuple[int, float], there: tuple[int, float]) -> list[dict[str, Any]]:
    """Cut what runs from one place to another at the ends of the rows between."""
    pieces = []
    for index in range(here[0], there[0] + 1):
        begins, ends = index == here[0], index == there[0]
        left = here[1] if begins else rows[index]["first"] - 1
        right = there[1] if ends else _end(rows[index])
        # what reaches a hair past sam ends at the row before
        if right - left > (1e-6 if begins else _EARLY_COLUMNS / 2):
            pieces.append({"row": index, "from": round(left, 4), "to": round(right, 4), "begins": begins, "ends": ends})
    if pieces:
        pieces[-1]["ends"] = True
    return pieces


def _share_out(pieces: Sequence[Row], notes: Sequence[tuple[float, str]]) -> list[list[list[Any]]]:
    """Give every piece the notes that begin in it, each at its x."""
    widths = np.array([piece["to"] - piece["from"] for piece in pieces])
    begins = np.concatenate([[0.0], np.cumsum(widths)])
    shared: list[list[list[Any]]] = [[] for _ in pieces]
    for share, symbol in notes:
        along = share * begins[-1]
        index = min(int(np.searchsorted(begins, along + 1e-6, side="right")) - 1, len(pieces) - 1)
        shared[index].append([round(float(pieces[index]["from"] + along - begins[index]), 4), symbol])
    return shared


def _lay_palla(
    rows: Sequence[Row], tihai: TihaiRun, number: int, lane: int, begin: tuple[int, float], end: tuple[int, float]
) -> None:
    pieces = {piece["row"]: piece for piece in _pieces(rows, begin, end)}
    for piece in pieces.values():
        piece |= {
            "id": tihai.tihai,
            "n": number,
            "lane": lane,
            "status": tihai.status,
            "title": tihai.title,
            "notes": [],
        }
    for onset, symbol in tihai.notes:
        index, x = _advance(rows, begin, float(onset))
        if x >= _end(rows[index]) - 1e-6 and index + 1 in pieces:
            index, x = index + 1, float(rows[index + 1]["first"] - 1)
        if index in pieces:
            pieces[index]["notes"].append([round(x, 4), symbol])
    for index, piece in pieces.items():
        del piece["row"]
        rows[index]["pallas"].append(piece)


def _beside_its_target(rows: Sequence[Row], landing: tuple[int, float]) -> tuple[int, float]:
    index, x = landing
    whole = _end(rows[index])
    follows = index + 1 < len(rows) and rows[index + 1]["stretch"] == rows[index]["stretch"]
    if follows and rows[index + 1]["first"] == 1 and x > whole - _EARLY_COLUMNS:
        return index + 1, x - whole
    return landing


def _lanes(spans: Sequence[tuple[float, float]]) -> list[int]:
    """Give each span the lowest lane that is free when it begins; what overlaps by less than 0.1 s shares a lane."""
    lanes = [0] * len(spans)
    free_s: list[float] = []
    for index in sorted(range(len(spans)), key=lambda i: spans[i][0]):
        start_s, end_s = spans[index]
        lane = next((i for i, until_s in enumerate(free_s) if until_s <= start_s + 0.1), len(free_s))
        free_s[lane : lane + 1] = [end_s]
        lanes[index] = lane
    return lanes
