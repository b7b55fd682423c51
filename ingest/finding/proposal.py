"""A proposal: a tihai found, with its times, its arithmetic, its notation and the reasons for it.

Conventions: times in seconds from the recording's start; matras are Fractions, counted from 1 at sam. The palla is
counted by the rule "within": its last stroke is the landing stroke and belongs to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from ingest.finding.find import Findings, Found
from ingest.finding.lattice import Lattice
from ingest.finding.pooled import draft_palla
from ingest.finding.reasons import reason_for
from theory.notation_print import to_text
from theory.numbers import spoken

STROKE_NEAR_S = 0.06
"""A stroke so near to where the grid puts it is the one that is meant."""
NEAR_MISS = Fraction(3, 2)
"""What lands farther from sam than so many matras was not aimed at it."""
NAMED = 1.0  # contrast of a mukhra that a person has named
MISSES_FROM = Fraction(1, 2)
"""What lands half a matra or more from sam and mukhra misses, as in `annotate.verify`."""


@dataclass(frozen=True, eq=False)
class Proposal:
    """A tihai that is proposed.

    Parameters
    ----------
    palla_s : tuple of float
        Start of each palla.
    landing_s : float
    cycle : int
        The avartan in which it begins.
    start : Fraction
        The matra on which it begins.
    palla, dam : Fraction
        On paper; three pallas and two dams, less what follows the last stroke, make the tihai.
    to_landing : Fraction
        From the palla's first stroke to its landing stroke, which does not depend on how that one is counted.
    target : Fraction
        The matra it is aimed at: 1 for sam, or that of the mukhra.
    aims_at : str
        ``"sam"``, ``"mukhra"``, or ``"matra"`` where it lands on a matra that may be aimed at for what a person knows.
    off : Fraction
        How far after the target it lands on paper, in matras; negative before it.
    kind : str
        ``"bedam"``, ``"damdar"``, ``"chakradar"`` or ``"nauhakka"``.
    played_by : str
        ``"tabla"``, ``"lead"`` or ``"both"``.
    moved : int
        By how many semitones the lead's second palla stands from its first; 0 where all are alike.
    text : str
        Draft of the palla, in bols or sargam.
    confidence : float
        0 to 1: of those given 0.8 about eight in ten are right, on the concerts it was learnt from.
    reading : str
        What the sum on paper says, and which reading fits the played times better where they disagree.
    reason : str
        In words.
    measures : ndarray of float32
        What was measured, by `close_look.NAMES`.
    """

    palla_s: tuple[float, float, float]
    landing_s: float
    cycle: int
    start: Fraction
    palla: Fraction
    dam: Fraction
    to_landing: Fraction
    target: Fraction
    aims_at: str
    off: Fraction
    kind: str
    played_by: str
    moved: int
    text: str
    confidence: float
    reading: str
    reason: str
    measures: NDArray[np.float32]

    @property
    def start_s(self) -> float:
        """Where it begins."""
        return self.palla_s[0]

    @property
    def misses(self) -> bool:
        """Whether it misses, on paper, what it is aimed at."""
        return abs(self.off) >= MISSES_FROM


def proposals(lattice: Lattice, findings: Findings, onsets_s: Sequence[float] | NDArray[np.float64]) -> list[Proposal]:
    """Put what was found into words and times, the likeliest first.

    Parameters
    ----------
    lattice : Lattice
    findings : Findings
    onsets_s : sequence of float
        When anything was struck, ascending.
    """
    struck_s = np.asarray(onsets_s, dtype=np.float64)
    return [_proposal(lattice, findings, each, struck_s) for each in findings.found]


def _proposal(lattice: Lattice, findings: Findings, found: Found, struck_s: NDArray[np.float64]) -> Proposal:
    passage = draft_palla(lattice, found.begins, found.palla, found.played_by)
    dam = Fraction(found.spacing, lattice.parts) - passage.length
    cycle, start = _place(lattice, found.begins[0])
    aims_at, target, off = _target(lattice, findings, found.landing)
    first, second, third, landing_s = (_struck_s(lattice, tick, struck_s) for tick in (*found.begins, found.landing))
    kind = _kind(found, dam)
    return Proposal(
        (first, second, third), landing_s, cycle, start, passage.length, dam,
        Fraction(found.palla, lattice.parts), target, aims_at, off, kind,
        found.played_by, _moved(lattice, found), to_text(passage), found.confidence,
        _reading(lattice, found, dam, off, (first, second, third, landing_s)),
        reason_for(found.measures, found.played_by, kind, aims_at, off), found.measures,
    )  # fmt: skip


def _place(lattice: Lattice, tick: int) -> tuple[int, Fraction]:
    """Avartan and matra of a tick."""
    position = lattice.first + Fraction(tick, lattice.parts)
    return int(position // lattice.matras) + 1, position % lattice.matras + 1


def _target(lattice: Lattice, findings: Findings, landing: int) -> tuple[str, Fraction, Fraction]:
    """What is aimed at, its matra, and how far after it the landing is.

    Nobody is said to miss who may have aimed elsewhere: a landing on a matra that is far from sam, or a whole matra
    from where the mukhra was heard to begin (which may be a matra wrong), is taken to be what was aimed at.
    """
    place = (lattice.first + Fraction(landing, lattice.parts)) % lattice.matras
    half = Fraction(lattice.matras, 2)

    def off_from(at: int) -> Fraction:
        return (place - at + half) % lattice.matras - half

    sam, mukhra = off_from(0), findings.mukhra
    if mukhra is not None and abs(off_from(mukhra.matra - 1)) < abs(sam):
        off = off_from(mukhra.matra - 1)
        if off.denominator == 1 and off and mukhra.contrast < NAMED:
            return "matra", place + 1, Fraction(0)
        if abs(off) <= NEAR_MISS:
            return "mukhra", Fraction(mukhra.matra), off
    if abs(sam) <= NEAR_MISS or place.denominator != 1:
        return "sam", Fraction(1), sam
    return "matra", place + 1, Fraction(0)


def _struck_s(lattice: Lattice, tick: int, struck_s: NDArray[np.float64]) -> float:
    """When the stroke at a tick is heard; where the grid puts it, if none is near."""
    due_s = float(lattice.time_s[tick])
    if not len(struck_s):
        return due_s
    nearest = float(struck_s[np.abs(struck_s - due_s).argmin()])
    return nearest if abs(nearest - due_s) <= STROKE_NEAR_S else due_s


def _kind(found: Found, dam: Fraction) -> str:
    if found.inner is not None:
        return "nauhakka" if found.inner.fills else "chakradar"
    return "damdar" if dam else "bedam"


def _moved(lattice: Lattice, found: Found) -> int:
    if found.played_by == "tabla":
        return 0
    first, second, _ = found.begins
    span = np.arange(found.palla + 1)
    one, other = first + span, second + span
    both = (lattice.voiced[one] > 0.3) & (lattice.voiced[other] > 0.3)
    return int(np.rint(np.median(lattice.semitone[other][both] - lattice.semitone[one][both]))) if both.any() else 0


def _reading(
    lattice: Lattice, found: Found, dam: Fraction, off: Fraction, played_s: tuple[float, float, float, float]
) -> str:
    """Whether another dam, with which the sum would come out, fits the played times better."""
    if off == 0:
        return ""
    spacing = Fraction(found.spacing, lattice.parts)
    other = spacing - off / 2
    if other <= 0 or spacing - other > dam:
        return f"On paper it lands {_far(off)}; no other dam brings it there."
    ticks = np.array([*found.begins, found.landing], dtype=np.float64)
    moved = float(off * lattice.parts)
    # with the other dam it begins where it does, its second palla comes off / 2 earlier, and so on
    mended = ticks - np.array([0.0, moved / 2, moved, moved])
    at_s = [np.interp(each, np.arange(len(lattice)), lattice.time_s) for each in (ticks, mended)]
    strays_ms = [float(np.sqrt(np.mean((np.array(played_s) - each) ** 2))) * 1000 for each in at_s]
    fits = "fits the playing better" if strays_ms[0] <= strays_ms[1] else "fits the playing less well"
    return (
        f"On paper it lands {_far(off)}: read so it {fits} (strays {strays_ms[0]:.0f} ms) than with a dam of "
        f"{spoken(dam - off / 2)}, which would land (strays {strays_ms[1]:.0f} ms)."
    )


def _far(off: Fraction) -> str:
    return f"{spoken(abs(off))} {'matra' if abs(off) <= 1 else 'matras'} {'after' if off > 0 else 'before'} its target"
