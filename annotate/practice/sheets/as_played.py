"""How a tihai was played: how far pallas, strokes and landing lie from paper, and how even they are.

Conventions: a deviation is played minus paper in ms, late is positive and drawn to the right, as in
:mod:`annotate.verify`. *Unevenness* of a palla is the median distance of its strokes from the palla's own mean
deviation: a palla that is late as a whole may be even all the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median

from annotate.archive import Archive
from annotate.practice.pieces import Piece
from annotate.practice.sheets.drawing import ACCENT, GREY, INK, PALE, TINT, Drawing, Places
from annotate.strokes_played import PlayedStroke, played_strokes
from annotate.verify import Verdict, section_of, verify

LABELS, ROW, FOOT, RIGHT = 52.0, 16.0, 30.0, 20.0
STEPS_MS = (5, 10, 20, 25, 50, 100, 200, 500, 1000)


@dataclass(frozen=True)
class PlayedPart:
    """A palla or the landing: its name, how far off it was, and of its strokes how many were found and how uneven."""

    name: str
    dev_ms: float | None
    strokes_ms: tuple[float, ...] = ()
    written: int = 0

    @property
    def unevenness_ms(self) -> float | None:
        """The median distance of its strokes from their mean deviation; None for fewer than three."""
        if len(self.strokes_ms) < 3:
            return None
        mean = fmean(self.strokes_ms)
        return median(abs(each - mean) for each in self.strokes_ms)


@dataclass(frozen=True)
class AsPlayed:
    """A verdict, and the parts that it speaks of, the landing last."""

    verdict: Verdict
    parts: tuple[PlayedPart, ...]


def as_played(archive: Archive, piece: Piece) -> AsPlayed | None:
    """Return how a tihai was played; None for a phrase."""
    if piece.tihai is None:
        return None
    grid = archive.grid(piece.slug)
    verdict = verify(piece.tihai, grid, piece.tala, piece.slug)
    strokes = _strokes(archive, piece)
    parts = []
    for number, palla in enumerate(verdict.pallas, 1):
        of_palla = [each for each in strokes if each.palla == number]
        found = tuple(each.dev_ms for each in of_palla if each.dev_ms is not None)
        name = f"palla {number}" if len(verdict.pallas) > 1 else "start"
        parts.append(PlayedPart(name, palla.dev_ms, found, len(of_palla)))
    if verdict.landing_dev_ms is not None:
        parts.append(PlayedPart("landing", verdict.landing_dev_ms))
    return AsPlayed(verdict, tuple(parts))


def _strokes(archive: Archive, piece: Piece) -> Sequence[PlayedStroke]:
    from ingest.onset_times import onset_times

    evidence = archive.evidence(piece.slug)
    if evidence is None or piece.tihai is None:
        return ()
    return played_strokes(piece.tihai, section_of(piece.tihai, archive.grid(piece.slug)), onset_times(evidence))


def played_drawing(played: AsPlayed, places: Places, width: float) -> Drawing | None:
    """Draw the deviations, a row for each palla and for the landing; None where nothing could be measured."""
    shown = [part for part in played.parts if part.dev_ms is not None]
    if not shown:
        return None
    tolerance = played.verdict.tolerance_ms or 0.0
    most = max([1.25 * tolerance, *(1.1 * abs(ms) for part in shown for ms in (part.dev_ms or 0.0, *part.strokes_ms))])
    step = next((each for each in STEPS_MS if most / each <= 4), STEPS_MS[-1])
    scale = (width - LABELS - RIGHT) / (2 * most)
    zero, foot = LABELS + most * scale, ROW * len(shown) + 4
    said = "; ".join(f"{part.name} {part.dev_ms or 0.0:+.0f} ms" for part in shown)
    drawing = Drawing(places, width, foot + FOOT, f"Played minus paper: {said}")
    if tolerance:
        drawing.box(zero - tolerance * scale, 0, 2 * tolerance * scale, foot, fill=TINT)
    drawing.line(zero, 0, zero, foot, stroke=INK, width=0.8)
    for count in range(-int(most // step), int(most // step) + 1):
        x = zero + count * step * scale
        drawing.line(x, foot, x, foot + 3, stroke=GREY)
        drawing.text(x, foot + 11, f"{count * step:+d}".replace("-", "−") if count else "0", size=6.6, ink=GREY)
    drawing.line(LABELS, foot, width - RIGHT, foot, stroke=GREY)
    drawing.text(zero, foot + 23, "played minus paper, in ms (late is to the right)", size=7, face="italic")
    drawing.text(LABELS - 6, foot + 11, "part", size=7, anchor="end", face="italic")
    for row, part in enumerate(shown):
        y = ROW * (row + 0.5) + 2
        drawing.line(LABELS, y, width - RIGHT, y, stroke=PALE, width=0.4)
        drawing.text(LABELS - 6, y + 2.6, part.name, size=7.6, anchor="end")
        for ms in part.strokes_ms:
            x = zero + ms * scale
            drawing.line(x, y - 4, x, y + 4, stroke=GREY, width=0.8)
        x = zero + (part.dev_ms or 0.0) * scale
        if part.name == "landing":
            data = f"M{x:.2f} {y - 5:.2f}L{x + 4.4:.2f} {y:.2f}L{x:.2f} {y + 5:.2f}L{x - 4.4:.2f} {y:.2f}Z"
            drawing.path(data, fill=INK, stroke="#ffffff")
        else:
            drawing.disc(x, y, 3.4, fill=ACCENT, stroke="#ffffff", width=0.6)
    return drawing
