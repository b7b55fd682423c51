"""What is played, on paper: the words in which a performance is written down.

A :class:`Performance` is a plain value: an alap in free time, lines of swaras at places in the tala, tihais, and
passages of the tabla that stand in for the theka. ``playing`` turns it into strokes, ``truth`` into tables.

Conventions: cycles count from 1 at the first sam; cycle 0 is the part of an avartan before it. Matras count from 1.
Swaras and bols in the project's notation (``theory.notation``).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from theory.notation import parse
from theory.passage import Passage
from theory.tihai import LandingRule

ONE = Fraction(1)


@dataclass(frozen=True)
class Free:
    """A phrase of the alap: each swara with its seconds; ``ending`` is how the last one is sounded."""

    swaras: str
    seconds: tuple[float, ...]
    role: str = "alap"
    ending: str = "plain"
    rest_s: float = 0.35


@dataclass(frozen=True)
class Line:
    """A line of the mandolin from a matra on; a line without a role is not written down as a phrase."""

    cycle: int
    matra: int
    swaras: str
    role: str = ""


@dataclass(frozen=True)
class Fill:
    """Strokes of the tabla that stand in for the theka from a matra on."""

    cycle: int
    matra: int
    bols: str


@dataclass(frozen=True)
class PlannedTihai:
    """A tihai as the players mean it, and how they bring it off.

    Attributes
    ----------
    cycle, matra : int, Fraction
        Where it starts.
    palla : str
        In swaras when the mandolin takes part, else in bols.
    dam : Fraction
        Matras between pallas.
    rule : LandingRule
        How it is counted; under ``after`` the stroke ``landing`` follows the third palla.
    target : Fraction
        The matra aimed at.
    played_by : str
        ``"mandolin"``, ``"tabla"`` or ``"both"``.
    bols : str
        What the tabla plays beside the mandolin's palla.
    landing : str
        Under ``after``: the swara or bol that lands.
    filler : str
        A swara or bol struck where the dam begins, if it is not silent.
    late_ms : float
        How far it has fallen behind when it lands; it falls behind steadily.
    label, verdict : str
        What it is, in words; what verification is expected to say.
    """

    label: str
    cycle: int
    matra: Fraction
    palla: str
    dam: Fraction
    played_by: str
    verdict: str = "lands"
    rule: LandingRule = LandingRule.WITHIN
    target: Fraction = ONE
    bols: str = ""
    landing: str = ""
    filler: str = ""
    late_ms: float = 0.0

    @property
    def passage(self) -> Passage:
        """The palla, read."""
        return parse(self.palla)

    @property
    def period(self) -> Fraction:
        """Matras from one palla's start to the next."""
        return self.passage.length + self.dam

    @property
    def landing_offset(self) -> Fraction:
        """Matras from the start to the landing stroke, under its own rule."""
        last = self.passage.length if self.rule is LandingRule.AFTER else self.passage.last_onset
        return 2 * self.period + last


@dataclass(frozen=True)
class Performance:
    """Everything about one performance, as written down before it is played.

    Attributes
    ----------
    name : str
        Stem of its file names.
    lead_in : int
        Matras of the avartan before the first sam, when the gat begins with its mukhra.
    cycles : int
        Whole avartans from the first sam to the last.
    tempo : tuple of float
        Matras a minute at the beginning and the end of the gat.
    drone_ratios : tuple of float
        Strings of the tanpura as ratios to Sa.
    sways : str
        Swaras that get an andolan when held.
    """

    name: str
    title: str
    performed_on: str
    venue: str
    musicians: tuple[tuple[str, str], ...]
    raga: str
    tala: str
    sa_hz: float
    seed: int
    tempo: tuple[float, float]
    lead_in: int
    cycles: int
    drone_ratios: tuple[float, ...]
    alap: tuple[Free, ...]
    lines: tuple[Line, ...]
    tihais: tuple[PlannedTihai, ...]
    fills: tuple[Fill, ...] = ()
    sways: str = ""
    notes: str = ""


def mukhras(swaras: str, matra: int, cycles: tuple[int, ...]) -> tuple[Line, ...]:
    """The mukhra, the line that leads back to sam, in each of some cycles."""
    return tuple(Line(cycle, matra, swaras, "mukhra") for cycle in cycles)
