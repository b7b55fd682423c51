"""A draft of the palla from all three of it: what is heard once may be chance, what is heard three times is played.

The strokes of the tabla are named by what either hand does, so one bol stands for all that sound like it: a person
writes the right one. Of the lead the pitch is taken that sounds in most of the three; where these are moved against
each other, that of the first.

Conventions: ticks as in `lattice`; the palla from its first stroke to its landing stroke.
"""

from __future__ import annotations

from fractions import Fraction
from math import gcd

import numpy as np
from numpy.typing import NDArray

from ingest.finding.lattice import TABLA_KINDS, Lattice
from ingest.finding.scan import units_of
from ingest.swaras_heard import symbol
from theory.passage import Note, Passage, System

HEARD = 0.28
"""A stroke is written whose chance, in the mean over the three, reaches this."""
VOICED = 0.2
BOLS = {
    ("rings", "rim"): "Dha", ("rings", "sur"): "Dhin", ("rings", "open"): "Dhin", ("rings", "dead"): "Dhe",
    ("dead", "rim"): "Ta", ("dead", "sur"): "Tin", ("dead", "open"): "Tun", ("dead", "dead"): "Kat",
    ("none", "rim"): "Na", ("none", "sur"): "Tin", ("none", "open"): "Tun", ("none", "dead"): "Ti",
    ("rings", "none"): "Ge", ("dead", "none"): "Ke",
}  # fmt: skip
"""The bol written for what bayan and dayan do; common practice, no source, and other bols do the same."""
_BASS, _TREBLE = ("rings", "dead"), ("rim", "sur", "open", "dead")


def strokes_of(lattice: Lattice, begins: tuple[int, int, int], palla: int, played_by: str) -> NDArray[np.int64]:
    """Where the palla is struck, in ticks from its beginning: first stroke, what lies between, landing stroke."""
    unit = units_of(lattice)[-1]
    rows = _mean(lattice.plucks[:, None] if played_by == "lead" else lattice.tabla, begins, palla).max(axis=1)
    heard = []
    for at in range(unit, palla, unit):
        low, high = max(at - unit // 2, 1), min(at + (unit + 1) // 2, palla)
        if rows[low:high].max(initial=0.0) > HEARD:
            heard.append(at)
    return np.array([0, *heard, palla], dtype=np.int64)


def draft_palla(lattice: Lattice, begins: tuple[int, int, int], palla: int, played_by: str) -> Passage:
    """The palla as notation: bols where the tabla plays it, sargam where the lead does so alone.

    Its last stroke, which lands, is as long as `part_of` says; so the palla is counted by the rule "within".
    """
    struck = strokes_of(lattice, begins, palla, played_by)
    unit = part_of(lattice, palla, int(begins[1] - begins[0]))
    names = _swaras(lattice, begins, struck) if played_by == "lead" else _bols(lattice, begins, struck)
    ends = [*struck[1:], palla + unit]
    notes = tuple(
        Note(name, Fraction(int(at), lattice.parts), Fraction(int(end - at), lattice.parts))
        for name, at, end in zip(names, struck, ends, strict=True)
    )
    system: System = "sargam" if played_by == "lead" else "bols"
    return Passage(system, notes, Fraction(palla + unit, lattice.parts))


def part_of(lattice: Lattice, palla: int, spacing: int) -> int:
    """The longest stroke that the way to the landing stroke and that to the next palla can be counted in, in ticks.

    So long the landing stroke is taken to be: nobody can hear where it ends and the dam begins.
    """
    common = gcd(spacing, palla)
    return max((unit for unit in units_of(lattice) if common % unit == 0 and unit <= spacing - palla), default=common)


def _mean(rows: NDArray[np.float32], begins: tuple[int, int, int], palla: int) -> NDArray[np.float32]:
    """Mean over the three pallas, shape (palla + 1, k)."""
    ticks = np.clip(np.asarray(begins)[:, None] + np.arange(palla + 1), 0, len(rows) - 1)
    mean: NDArray[np.float32] = rows[ticks].mean(axis=0)
    return mean


def _bols(lattice: Lattice, begins: tuple[int, int, int], struck: NDArray[np.int64]) -> list[str]:
    mean = _mean(lattice.tabla, begins, int(struck[-1]))
    names = []
    for at in struck:
        near = mean[max(at - 1, 0) : at + 2].max(axis=0)
        bass, treble = near[: len(_BASS)], near[len(_BASS) : TABLA_KINDS]
        left = _BASS[int(bass.argmax())] if bass.max() > HEARD else "none"
        right = _TREBLE[int(treble.argmax())] if treble.max() > HEARD else "none"
        if left == right == "none":
            left, right = (
                ("none", _TREBLE[int(treble.argmax())])
                if treble.max() >= bass.max()
                else (_BASS[int(bass.argmax())], "none")
            )
        names.append(BOLS[left, right])
    return names


def _swaras(lattice: Lattice, begins: tuple[int, int, int], struck: NDArray[np.int64]) -> list[str]:
    unit = units_of(lattice)[-1]
    ends = [*struck[1:], struck[-1] + unit]
    names = []
    for at, end in zip(struck, ends, strict=True):
        votes = []
        for begin in begins:
            part = slice(begin + at, min(begin + end, len(lattice)))
            sounding = lattice.voiced[part] > VOICED
            if sounding.any():
                votes.append(int(np.rint(np.median(lattice.semitone[part][sounding]))))
        alike = [vote for vote in votes if votes.count(vote) > 1]
        names.append(symbol((alike or votes or [0])[0]))
    return names
