"""What runs over the rows of the folded page: tihais and phrases, as plain data.

Conventions: as in :mod:`dashboard.figures.fold`. A run is cut into pieces at the ends of rows; a piece says whether the
run begins or ends in it. What begins or lands a little before a sam belongs to that sam and is drawn beside it, left of
the row's edge (x a little below 0), not as a sliver at the end of the row before.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from typing import Any

from dashboard.figures.fold import Row, end_of, place

_EARLY_COLUMNS = 0.2  # "a little before a sam"; landings that count as on it are within a third of a matra


@dataclass(frozen=True)
class TihaiRun:
    """A tihai as it is drawn: where it was played, and what the palla is.

    ``palla_matras`` and ``notes`` (onset in matras from the palla's start, symbol) come from the palla's text and may
    be missing; then a palla is drawn up to the next one. ``verdict`` is the style, ``landing_text`` what stands
    beside it; ``aim_s`` is where it should have landed, None when it did.
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
    aim_s: float | None = None


@dataclass(frozen=True)
class PhraseRun:
    """A phrase as it is drawn; ``notes`` are (share of its length at which it begins, symbol), first at 0."""

    phrase: str
    start_s: float
    end_s: float
    text: str
    role: str = ""
    notes: tuple[tuple[float, str], ...] = ()


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
        aim = None if tihai.aim_s is None else place(rows, tihai.aim_s)
        if aim is not None:
            index, x = _beside_its_target(rows, aim)
            about = {"id": tihai.tihai, "lane": lane, "title": f"{tihai.tihai} was aimed here"}
            rows[index]["aims"].append({"x": round(x, 4)} | about)
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


def lanes_of(row: Row, runs: Sequence[str]) -> int:
    """Return how many lanes one above the other the named runs of a row take."""
    return max((each["lane"] + 1 for name in runs for each in row[name]), default=0)


def _lay_palla(
    rows: Sequence[Row], tihai: TihaiRun, number: int, lane: int, begin: tuple[int, float], end: tuple[int, float]
) -> None:
    number = number if len(tihai.palla_s) > 1 else 0  # of an interval it is not known which palla it begins with
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
        if x >= end_of(rows[index]) - 1e-6 and index + 1 in pieces:
            index, x = index + 1, float(rows[index + 1]["first"] - 1)
        if index in pieces:
            pieces[index]["notes"].append([round(x, 4), symbol])
    for index, piece in pieces.items():
        del piece["row"]
        rows[index]["pallas"].append(piece)


def _share_out(pieces: Sequence[Row], notes: Sequence[tuple[float, str]]) -> list[list[list[Any]]]:
    """Give every piece the notes that begin in it, each at its x."""
    begins = [0.0, *accumulate(piece["to"] - piece["from"] for piece in pieces)]
    shared: list[list[list[Any]]] = [[] for _ in pieces]
    for share, symbol in notes:
        along = share * begins[-1]
        index = min(bisect_right(begins, along + 1e-6) - 1, len(pieces) - 1)
        shared[index].append([round(pieces[index]["from"] + along - begins[index], 4), symbol])
    return shared


def _pieces(rows: Sequence[Row], here: tuple[int, float], there: tuple[int, float]) -> list[dict[str, Any]]:
    """Cut what runs from one place to another at the ends of the rows between."""
    pieces = []
    for index in range(here[0], there[0] + 1):
        begins, ends = index == here[0], index == there[0]
        left = here[1] if begins else rows[index]["first"] - 1
        right = there[1] if ends else end_of(rows[index])
        # what reaches a hair past sam ends at the row before
        if right - left > (1e-6 if begins else _EARLY_COLUMNS / 2):
            pieces.append({"row": index, "from": round(left, 4), "to": round(right, 4), "begins": begins, "ends": ends})
    if pieces:
        pieces[-1]["ends"] = True
    return pieces


def _advance(rows: Sequence[Row], here: tuple[int, float], columns: float) -> tuple[int, float]:
    """Go on by so many columns, over the ends of rows; not beyond the stretch."""
    index, x = here[0], here[1] + columns
    while x > end_of(rows[index]):
        if index + 1 == len(rows) or rows[index + 1]["stretch"] != rows[index]["stretch"]:
            return index, float(end_of(rows[index]))
        x += rows[index + 1]["first"] - 1 - end_of(rows[index])
        index += 1
    return index, x


def _beside_its_target(rows: Sequence[Row], landing: tuple[int, float]) -> tuple[int, float]:
    index, x = landing
    whole = end_of(rows[index])
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
