"""What was found: a place, how alike it is, and in what it differs."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from annotate.alike.heard import HeardCourse
from annotate.grid import RecordingGrid
from ingest.finding.like import Likeness, Moved
from theory.talas import get_tala

SAME_LAYA = 0.04
"""A passage that takes so much more or less time is not called slower or quicker."""


@dataclass(frozen=True)
class Like:
    """A passage of the archive that is like what was looked for.

    Parameters
    ----------
    recording : str
    section : str
        '' off the grid.
    tala : str
    start_s, end_s : float
    cycle : int, optional
    matra : float, optional
        Where it begins, from 1; None off the grid.
    height : float
        By how many times the usual spread it stands above what that stretch is like anyway; the ranking goes by it.
    melody, tabla : float
        How alike each is, 0 to 1; 0 where it was not compared.
    moved : str
        ``"semitones"``, ``"steps"`` (of the raga's ladder) or ''.
    by : int
        By how many, upwards.
    matras_ratio : Fraction, optional
        How many times as many matras it takes; None where matras cannot be compared.
    pace : float, optional
        How many times as quick it is played; None where what was looked for has no laya.
    """

    recording: str
    section: str
    tala: str
    start_s: float
    end_s: float
    cycle: int | None
    matra: float | None
    height: float
    melody: float
    tabla: float
    moved: Moved
    by: int
    matras_ratio: Fraction | None
    pace: float | None

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "recording": self.recording,
            "section": self.section,
            "tala": self.tala,
            "start_s": round(self.start_s, 3),
            "end_s": round(self.end_s, 3),
            "cycle": self.cycle,
            "matra": None if self.matra is None else round(self.matra, 2),
            "height": round(self.height, 2),
            "melody": round(self.melody, 3),
            "tabla": round(self.tabla, 3),
            "moved": self.moved,
            "by": self.by,
            "matras_ratio": None if self.matras_ratio is None else str(self.matras_ratio),
            "pace": None if self.pace is None else round(self.pace, 3),
        }

    @property
    def alike_words(self) -> str:
        """Say how alike it is: "melody 93 %, tabla 88 %"."""
        told = [(name, share) for name, share in (("melody", self.melody), ("tabla", self.tabla)) if share > 0]
        return ", ".join(f"{name} {share:.0%}".replace("%", " %") for name, share in told)

    @property
    def moved_words(self) -> str:
        """Say by how much the melody lies elsewhere: "2 steps higher", '' where it does not."""
        if not self.moved:
            return ""
        if self.by == 0:
            return "on the same steps of another ladder"
        octaves, left = divmod(abs(self.by), 12)
        way = "higher" if self.by > 0 else "lower"
        if self.moved == "semitones" and left == 0:
            return f"an octave {way}" if octaves == 1 else f"{octaves} octaves {way}"
        unit = "semitone" if self.moved == "semitones" else "step"
        return f"{abs(self.by)} {unit}{'' if abs(self.by) == 1 else 's'} {way}"

    @property
    def laya_words(self) -> str:
        """Say at what laya it is played against what was looked for: "1/2 the matras, 1.9 times as quick"."""
        told = []
        if self.matras_ratio is not None and self.matras_ratio != 1:
            told.append(
                f"{self.matras_ratio} the matras" if self.matras_ratio < 1 else f"{self.matras_ratio} times the matras"
            )
        if self.pace is not None:
            told.append("the same pace" if abs(self.pace - 1) <= SAME_LAYA else f"{self.pace:.2f} times as quick")
        return ", ".join(told)


def place_words(like: Like) -> str:
    """Say where on its grid it begins: "avartan 3, matra 7.9 of Teental"; '' off the grid."""
    if like.cycle is None or like.matra is None:
        return ""
    tala = get_tala(like.tala)
    cycle, matra = (like.cycle, round(like.matra, 1)) if like.matra < tala.matras + 0.95 else (like.cycle + 1, 1.0)
    return f"avartan {cycle}, matra {matra:g} of {tala.name}"


def like_of(slug: str, within: HeardCourse, found: Likeness, played_s: float | None, all_grids: RecordingGrid) -> Like:
    """Make a likeness in a course a place in a recording; found by the clock, it still says where on a grid it lies."""
    edges_s = within.course.edges_s
    start_s, end_s = float(edges_s[found.first]), float(edges_s[found.first + found.count])
    grid = within.grid or all_grids.at(start_s)
    cycle, matra = grid.position(start_s) if grid is not None else (None, None)
    return Like(
        slug, grid.section if grid is not None else "", grid.tala.key if grid is not None else "", start_s, end_s,
        cycle, matra, found.height, found.melody, found.tabla, found.moved, found.by,
        found.ratio if isinstance(found.ratio, Fraction) else None,
        None if played_s is None else played_s / (end_s - start_s),
    )  # fmt: skip
