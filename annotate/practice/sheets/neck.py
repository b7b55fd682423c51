"""The neck of the student's instrument, with the swaras where they lie.

Conventions: lengths in points. The string that is written first in the tuning lies lowest, as in tab; frets are equally
wide. Only the stretch of the neck that is used is drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from annotate.practice.sheets.drawing import ACCENT, GREY, INK, PALE, Drawing, Places
from annotate.practice.sheets.fonts import width_of
from theory.bhatkhande import spelled
from theory.fingering import Place
from theory.fretboard import Fretboard, note_name
from theory.layout import Script
from theory.notation import parse
from theory.swaras import split_symbol

LEFT, STRING, WIDEST, NARROWEST = 44.0, 15.0, 38.0, 17.0
FEWEST = 5  # frets that are drawn


def places_on_neck(board: Fretboard, sa: int, swaras: Iterable[str]) -> tuple[Place, ...]:
    """Return every place of some swaras of the scale on the strings that are played, in every octave that is there."""
    semitones = {split_symbol(each)[0].semitones: split_symbol(each)[0].letter for each in swaras}
    found = []
    for string in board.playable:
        for fret in range(board.capo, board.frets + 1):
            above = board.pitch(string, fret) - sa
            if above % 12 in semitones and -24 <= above < 36:
                octave = above // 12
                letter = semitones[above % 12]
                symbol = "." * -octave + letter if octave < 0 else letter + "'" * octave
                found.append(Place(symbol, above, string, fret))
    return tuple(found)


def neck_drawing(board: Fretboard, found: Iterable[Place], script: Script, places: Places, width: float) -> Drawing:
    """Draw a neck with swaras on it; a swara that is bent to shows by how many semitones."""
    at = {(each.string, each.fret): each for each in found}
    first, last = _stretch(board, at)
    fret = max(NARROWEST, min(WIDEST, (width - LEFT - 6) / (last - first)))
    strings = len(board.courses)
    foot = 9 + STRING * (strings - 1)
    drawing = Drawing(places, LEFT + fret * (last - first) + 6, foot + 20, "The neck with the swaras on its frets")
    nut = first == board.capo
    for number in range(first, last + 1):
        x = LEFT + fret * (number - first)
        thick = number == first and nut
        drawing.line(x, 9, x, foot, stroke=INK if thick else GREY, width=2.2 if thick else 0.5)
        if number > first:
            drawing.text(x - fret / 2, foot + 16, str(number), size=6.4, ink=GREY)
    for number, course in enumerate(board.courses, 1):
        y = foot - STRING * (number - 1)
        drawing.line(
            LEFT, y, LEFT + fret * (last - first), y, stroke=PALE if number in board.drones else INK, width=0.6
        )
        drawing.text(12, y + 2.6, note_name(course.pitch).rstrip("-0123456789"), size=7.4, ink=GREY)
    for (string, number), place in at.items():
        x = LEFT - 13 if number == board.capo else LEFT + fret * (number - first - 0.5)
        _swara(drawing, x, foot - STRING * (string - 1), place, script)
    return drawing


def _stretch(board: Fretboard, at: Mapping[tuple[int, int], Place]) -> tuple[int, int]:
    """Return the fret before the first that is drawn, and the last."""
    fretted = [number for _, number in at if number > board.capo] or [board.capo + 1]
    first = board.capo if min(fretted) <= board.capo + 5 else min(fretted) - 2
    return first, min(board.frets, max(max(fretted) + 1, first + FEWEST))


def _swara(drawing: Drawing, x: float, y: float, place: Place, script: Script) -> None:
    sa = split_symbol(place.swara)[0].letter == "S"
    drawing.disc(x, y, 6.4, fill=ACCENT if sa else "#ffffff", stroke=ACCENT if sa else INK)
    written = place.swara if script == "typed" else spelled(parse(place.swara), script).notes[0].symbol
    size = min(7.6, 7.6 * 11.5 / max(width_of(written, 7.6), 1.0))
    drawing.text(x, y + 0.36 * size, written, size=size, ink="#ffffff" if sa else INK)
    if place.bend:
        drawing.text(x + 6.8, y - 3.6, f"+{place.bend}", size=6.0, anchor="start", ink=ACCENT)
