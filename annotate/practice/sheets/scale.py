"""The way up and the way down of a raga, each swara as high as it sounds, those of one direction marked.

Conventions: lengths in points; a semitone is equally high everywhere.
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import pairwise
from typing import Literal

from annotate.practice.sheets.drawing import ACCENT, GREY, INK, PALE, TINT, Drawing, Places
from annotate.practice.sheets.fonts import width_of
from theory.bhatkhande import spelled
from theory.layout import Script
from theory.notation import parse
from theory.swaras import semitones_of, split_symbol

SEMITONE, RADIUS, TOP = 4.4, 7.6, 14.0
LEFT = 18.0
MOST_WIDE = 34.0  # from one swara to the next

Direction = Literal["up", "down"]


def way_drawing(
    text: str, direction: Direction, one_way: Collection[str], script: Script, places: Places, width: float
) -> Drawing:
    """Draw the way up or down.

    Parameters
    ----------
    text : str
        Aroha or avaroha as notation.
    direction : {"up", "down"}
    one_way : collection of str
        Letters of the swaras that occur in this direction only.
    script : {"latin", "devanagari", "typed"}
    places : Places
    width : float
        The most it may be wide.
    """
    passage = parse(text)
    symbols = passage.symbols
    shown = symbols if script == "typed" else spelled(passage, script).symbols
    heights = [semitones_of(each) for each in symbols]
    low, high = min(heights), max(heights)
    step = min(MOST_WIDE, (width - LEFT - 14) / max(len(symbols), 1))
    foot = TOP + SEMITONE * (high - low)
    said = f"{'Ascent' if direction == 'up' else 'Descent'}: {text}"
    drawing = Drawing(places, LEFT + step * len(symbols) + 6, foot + 18, said)
    spots = [(LEFT + step * (at + 0.5), foot - SEMITONE * (each - low)) for at, each in enumerate(heights)]
    _levels(drawing, low, high, foot, script)
    for (x1, y1), (x2, y2) in pairwise(spots):
        drawing.line(x1, y1, x2, y2, stroke=GREY, width=0.6)
    radius = min(RADIUS, 0.46 * step + 1.5)
    for (x, y), symbol, written in zip(spots, symbols, shown, strict=True):
        letter = split_symbol(symbol)[0].letter
        marked, sa = letter in one_way, letter == "S"
        fill, stroke = (ACCENT, ACCENT) if sa else (TINT, ACCENT) if marked else ("#ffffff", INK)
        drawing.disc(x, y, radius, fill=fill, stroke=stroke, width=1.1 if marked else 0.7)
        size = min(8.6, 8.6 * 1.8 * radius / max(width_of(written, 8.6), 1.0))
        drawing.text(x, y + 0.36 * size, written, size=size, ink="#ffffff" if sa else INK)
        if marked:
            _arrow(drawing, x, y + radius + 3.2, up=direction == "up")
    return drawing


def _levels(drawing: Drawing, low: int, high: int, foot: float, script: Script) -> None:
    """Thin lines where every Sa and Pa lie."""
    for semitones in range(low, high + 1):
        if semitones % 12 in (0, 7):
            y = foot - SEMITONE * (semitones - low)
            drawing.line(LEFT - 6, y, drawing.width, y, stroke=PALE, width=0.5)
            name = "S" if semitones % 12 == 0 else "P"
            shown = name if script == "typed" else spelled(parse(name), script).symbols[0]
            drawing.text(LEFT - 9, y + 2.2, shown, size=6.2, anchor="end", ink=GREY)


def _arrow(drawing: Drawing, x: float, y: float, *, up: bool) -> None:
    tip, base = (y - 1.8, y + 2.6) if up else (y + 2.6, y - 1.8)
    drawing.path(f"M{x - 2.8:.2f} {base:.2f}L{x:.2f} {tip:.2f}L{x + 2.8:.2f} {base:.2f}Z", fill=ACCENT, stroke="none")
