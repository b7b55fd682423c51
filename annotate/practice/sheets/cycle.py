"""The cycle with its sam, khali and claps, and how a tihai runs through it, folded at sam.

Conventions: lengths in points. Matra 1 lies on the left edge, and sam again on the right; time runs from left to right,
row under row. What is drawn of a tihai is what is written, not what was played.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from annotate.practice.sheets.drawing import ACCENT, GREY, INK, PALE, TINT, Drawing, Places
from annotate.practice.sheets.fonts import width_of
from annotate.practice.sheets.written import signs_of
from theory.layout import Script, legend
from theory.talas import Mark, Tala

LEFT, RIGHT = 24.0, 14.0
TOP, ROW, BAR = 4.0, 19.0, 9.0
MOST_ROWS = 20  # of one figure; a longer run goes on in the next


@dataclass(frozen=True)
class Bar:
    """A palla: where it begins and ends, where its strokes begin (matras from a sam at 0), and what stands on it."""

    begin: Fraction
    end: Fraction
    strokes: tuple[Fraction, ...]
    label: str


@dataclass(frozen=True)
class Run:
    """How a tihai runs through the cycles: its pallas, and where it lands, in matras from the sam of the first row."""

    bars: tuple[Bar, ...]
    lands: Fraction


def cycle_drawing(tala: Tala, script: Script, places: Places, width: float) -> Drawing:
    """Draw one avartan: claps, khali, numbers and theka."""
    drawing = Drawing(places, width, 46.0 if tala.theka_known else 35.0, f"{tala.name}: {legend(tala)}")
    matra, line = _matra(tala, width), 11.0
    drawing.line(LEFT, line, width - RIGHT, line, stroke=GREY, width=0.6)
    marks = {mark.matra: mark for mark in tala.marks}
    for number in range(1, tala.matras + 1):
        x = LEFT + matra * (number - 1)
        _sign(drawing, x, line, marks.get(number))
        drawing.text(x, line + 18, str(number), size=6.4, ink=GREY)
    _sign(drawing, width - RIGHT, line, marks[1], again=True)
    if tala.theka_known:
        _theka(drawing, tala, script, matra, line + 30)
    return drawing


def run_drawings(tala: Tala, run: Run, places: Places, width: float) -> list[Drawing]:
    """Draw a tihai's run, a row for each avartan; more than one drawing where it is long."""
    last = run.lands // tala.matras if run.lands % tala.matras else run.lands // tala.matras - 1
    rows = range(int(max(last, *(bar.begin // tala.matras for bar in run.bars))) + 1)
    parts = [rows[first : first + MOST_ROWS] for first in range(0, len(rows), MOST_ROWS)]
    return [_run(tala, run, part, places, width) for part in parts]


def _matra(tala: Tala, width: float) -> float:
    return (width - LEFT - RIGHT) / tala.matras


def _sign(drawing: Drawing, x: float, y: float, mark: Mark | None, *, again: bool = False) -> None:
    """Draw a clap as a ring with its number, a khali as a thin one, sam as a full disc; any other matra as a dot."""
    if mark is None:
        drawing.disc(x, y, 1.5, fill=GREY)
        return
    sam = mark.matra == 1
    radius = 8.2 if sam else 7.0
    if mark.kind == "khali" and not sam:
        drawing.disc(x, y, radius, fill="#ffffff", stroke=GREY, width=0.5)
    elif sam and not again:
        drawing.disc(x, y, radius, fill=ACCENT)
    else:
        drawing.disc(x, y, radius, fill="#ffffff", stroke=ACCENT if sam else INK, width=0.9)
    ink = "#ffffff" if sam and not again else ACCENT if sam else INK
    drawing.text(x, y + 3.1, mark.label, size=8.4, face="bold", ink=ink)


def _theka(drawing: Drawing, tala: Tala, script: Script, matra: float, y: float) -> None:
    signs = signs_of(tala.theka, Fraction(1), script)
    cells = [(int(at), "".join(s.written for s in group)) for at, group in groupby(signs, key=lambda s: s.place // 1)]
    size = min(7.6, *(7.6 * (matra - 2) / width_of(text, 7.6, "italic") for _, text in cells))
    for at, text in cells:
        drawing.text(LEFT + matra * at, y, text, size=size, face="italic")


def _run(tala: Tala, run: Run, rows: range, places: Places, width: float) -> Drawing:
    drawing = Drawing(places, width, TOP + ROW * len(rows) + 3, _said(tala, run))
    matra = _matra(tala, width)
    foot = TOP + ROW * len(rows)
    drawing.line(LEFT, 0, LEFT, foot, stroke=ACCENT, width=1.1)
    drawing.line(width - RIGHT, 0, width - RIGHT, foot, stroke=ACCENT, width=1.1)
    for start in tala.vibhag_starts[1:]:
        drawing.line(LEFT + matra * (start - 1), 2, LEFT + matra * (start - 1), foot - 2, stroke=PALE, width=0.6)
    for place, row in enumerate(rows):
        middle = TOP + ROW * (place + 0.5)
        drawing.line(LEFT, middle, width - RIGHT, middle, stroke=PALE, width=0.5)
        if len(rows) > 1 or rows.start:
            drawing.text(0, middle + 3, str(row + 1), size=9, anchor="start", face="italic", ink=GREY)
        _bars(drawing, run, (Fraction(row * tala.matras), Fraction((row + 1) * tala.matras)), middle, matra)
    return drawing


def _bars(drawing: Drawing, run: Run, row: tuple[Fraction, Fraction], middle: float, matra: float) -> None:
    first, end = row

    def at(place: Fraction) -> float:
        return LEFT + matra * float(place - first)

    for bar in run.bars:
        left, right = max(bar.begin, first), min(bar.end, run.lands if bar.end > run.lands else bar.end, end)
        if left < right:
            drawing.box(at(left), middle - BAR / 2, at(right) - at(left), BAR, fill=TINT, stroke=ACCENT, round_=1.2)
        for stroke in bar.strokes:
            if first <= stroke < end and stroke < run.lands:
                drawing.line(at(stroke), middle - 1.4, at(stroke), middle + BAR / 2, stroke=ACCENT, width=0.7)
        if first <= bar.begin < end:
            drawing.text(at(bar.begin) + 1.5, middle - BAR / 2 - 1.2, bar.label, size=6.6, anchor="start", face="bold")
    if first < run.lands <= end or (run.lands == first == 0):
        x = at(run.lands)
        diamond = (
            f"M{x:.2f} {middle - 6:.2f}L{x + 5:.2f} {middle:.2f}L{x:.2f} {middle + 6:.2f}L{x - 5:.2f} {middle:.2f}Z"
        )
        drawing.path(diamond, fill=INK, stroke="#ffffff", width=0.8)


def _said(tala: Tala, run: Run) -> str:
    begins = [tala.name_of(tala.wrap(bar.begin)) for bar in run.bars]
    lands = tala.name_of(tala.wrap(run.lands))
    return f"The run through {tala.name}: pallas begin on {', '.join(begins)}; it lands on {lands}"
