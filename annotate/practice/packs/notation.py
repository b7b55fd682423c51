"""The notation of a piece as cells for the pack's page: one cell a matra, avartans of vibhags, folded at sam.

Conventions: places are Fractions of matras from the beginning of the piece, so that the avartan in which it begins has
cells before place 0. A cell belongs to the part of a tihai that fills most of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from annotate.archive import Archive
from annotate.exchange.score import Score, of_phrase, of_tihai
from annotate.practice.pieces import Piece
from theory.layout import Cell, Layout, Script, Sign, lay_out
from theory.passage import join, silence
from theory.talas import Tala, get_tala

MATRAS_A_ROW = 8
"""How many matras stand in a row where there is no tala to fold by."""


@dataclass(frozen=True)
class ShownCell:
    """A matra on the page.

    Attributes
    ----------
    place : Fraction
        Where it begins.
    matra : int
        Its number in the avartan.
    words : tuple of tuple of Sign
        What is written in it.
    part : str
        "palla 1", "dam", or '' outside the piece and in a phrase.
    opens : str
        The part that begins in it, where that is a palla.
    lands : bool
        Whether the landing stroke comes in it.
    """

    place: Fraction
    matra: int
    words: tuple[tuple[Sign, ...], ...]
    part: str
    opens: str
    lands: bool


@dataclass(frozen=True)
class ShownVibhag:
    """A vibhag: its sign and that in words ("X", "sam, clap"; '' where not known), and its cells."""

    sign: str
    said: str
    cells: tuple[ShownCell, ...]


@dataclass(frozen=True)
class Shown:
    """The notation of a piece: avartans, each a row of vibhags. ``language`` is its ISO 639 code, or ''."""

    avartans: tuple[tuple[ShownVibhag, ...], ...]
    language: str

    @property
    def cells(self) -> tuple[ShownCell, ...]:
        """Every cell, in order."""
        return tuple(cell for row in self.avartans for vibhag in row for cell in vibhag.cells)


def score_of(archive: Archive, piece: Piece) -> Score:
    """Return a piece as a score: what MusicXML, MIDI and the page are written from."""
    grid = archive.grid(piece.slug)
    if piece.tihai is not None:
        return of_tihai(piece.tihai, grid, piece.recording.title)
    if piece.phrase is None:
        raise ValueError("a piece is a tihai or a phrase")
    return of_phrase(piece.phrase, grid, piece.recording.title)


def shown(score: Score, script: Script = "latin") -> Shown:
    """Lay a score out in cells."""
    whole = join(each.passage for each in score.stretches)
    tala, start = (score.tala, score.start) if score.tala is not None else (_no_tala(whole.length), Fraction(1))
    layout = lay_out(
        join((whole, silence(Fraction(1)))) if _needs_room(score, whole.length) else whole, tala, start, script
    )
    parts = tuple(_parts(score))
    rows = tuple(
        tuple(_vibhags(layout, cells, row * tala.matras + 1 - start, parts, score.lands))
        for row, cells in enumerate(layout.avartans)
    )
    return Shown(rows, "hi" if script == "devanagari" else "")


def _needs_room(score: Score, length: Fraction) -> bool:
    """Whether the landing stroke comes where nothing is written any more."""
    return score.lands is not None and score.lands >= length


def _no_tala(length: Fraction) -> Tala:
    """Rows of matras without signs."""
    matras = min(MATRAS_A_ROW, max(1, math.ceil(length)))
    return replace(get_tala("teental"), name="", matras=matras, vibhags=(matras,), marks=())


def _parts(score: Score) -> Iterator[tuple[Fraction, Fraction, str]]:
    """Yield from where to where each part of a tihai lasts, and what it is."""
    here = Fraction(0)
    for each in score.stretches:
        end = here + each.passage.length
        if score.lands is not None:
            yield here, end, each.label or ("dam" if here < score.lands else "")
        here = end


def _vibhags(
    layout: Layout,
    cells: tuple[Cell, ...],
    first: Fraction,
    parts: tuple[tuple[Fraction, Fraction, str], ...],
    lands: Fraction | None,
) -> Iterator[ShownVibhag]:
    for start, length, (sign, said) in zip(layout.tala.vibhag_starts, layout.tala.vibhags, layout.marks, strict=True):
        yield ShownVibhag(
            sign, said, tuple(_cell(cell, first + cell.matra - 1, parts, lands) for cell in cells[start - 1 :][:length])
        )


def _cell(
    cell: Cell, place: Fraction, parts: tuple[tuple[Fraction, Fraction, str], ...], lands: Fraction | None
) -> ShownCell:
    end = place + 1
    shares = [(min(last, end) - max(first, place), part) for first, last, part in parts if first < end and last > place]
    most = max(shares, key=lambda share: share[0], default=(Fraction(0), ""))[1]
    opens = next((part for first, _, part in parts if place <= first < end and part.startswith("palla")), "")
    return ShownCell(place, cell.matra, cell.words, most, opens, lands is not None and place <= lands < end)
