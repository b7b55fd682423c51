"""What a practice sound is to be, and what became of it.

Conventions: a speed is in percent of the speed as played; a laya is in matras a minute; times within a sound are
seconds from its beginning.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Literal

from annotate.practice.errors import CannotSound
from ingest.slowing import SLOWEST

Source = Literal["recording", "notation"]
PartKind = Literal["count-in", "round", "palla", "dam", "landing", "closing"]

USUAL_SPEEDS = (Fraction(50), Fraction(65), Fraction(80), Fraction(100))
USUAL_LUFS = -16.0
CEILING_DB = -1.0
"""No true peak passes this."""
LAYAS = (Fraction(5), Fraction(1000))
"""Slower and quicker is nobody's laya: about 10 to 720 matras a minute are met in practice (surgyan.com, matra)."""
MOST_ROUNDS = 100
MOST_AVARTANS = 16
LOUDNESSES = (-40.0, -8.0)
LONGEST_S = 3600


@dataclass(frozen=True)
class SoundWishes:
    """What is wanted of a practice sound.

    Attributes
    ----------
    source : {"recording", "notation"}
        The passage as it was played, or what is written down, played by our own instruments.
    speeds : tuple of Fraction
        Of the recording, in percent, 25 to 100, one after the other. Not used with notation.
    layas : tuple of Fraction
        Of the notation, in matras a minute, one after the other without a stop; empty: the laya in which it was played.
        Not used with a recording.
    rounds : int
        How often the passage comes at each speed or laya.
    count_in : Fraction, optional
        Matras of clicks before it; None: one avartan (nothing outside a tala).
    exactly : bool
        From its first stroke until its last has rung, each round with its own count-in. Otherwise from sam to sam,
        round after round without a gap.
    before, after : int
        From sam to sam: how many avartans more. ``after`` None: one where it lands on the closing sam, so that the
        landing may ring, else none.
    pallas_alone : bool
        Each palla by itself, in its place in the tala. From a recording exactly the palla, since the rest of what
        sounds there cannot be left out.
    clicks, theka, tanpura : bool, optional
        What sounds under it. None: clicks under a recording; theka and tanpura under notation.
    lehra : bool
        A melodic cycle under it, made from the raga's swaras (:mod:`theory.lehra`).
    dam_clicks : bool
        Of notation: whether each dam is counted aloud.
    sa_hz : float, optional
        Sa of our own instruments; None: the recording's.
    under_db : float
        How much louder, or softer, than usual what sounds under it is.
    loudness_lufs : float
        Integrated loudness of the file.
    licence : str
        What the musician allows; it goes into the tags.
    mono : bool
        One channel, of MP3 and Opus at a third of the bits: for sending. From two loudspeakers it is as loud as any.

    Raises
    ------
    CannotSound
        When a value is none that can be wished for.
    """

    source: Source = "recording"
    speeds: tuple[Fraction, ...] = USUAL_SPEEDS
    layas: tuple[Fraction, ...] = ()
    rounds: int = 2
    count_in: Fraction | None = None
    exactly: bool = False
    before: int = 0
    after: int | None = None
    pallas_alone: bool = False
    clicks: bool | None = None
    theka: bool | None = None
    tanpura: bool | None = None
    lehra: bool = False
    dam_clicks: bool = True
    sa_hz: float | None = None
    under_db: float = 0.0
    loudness_lufs: float = USUAL_LUFS
    licence: str = ""
    mono: bool = False

    def __post_init__(self) -> None:
        if self.source not in ("recording", "notation"):
            raise CannotSound(f"A sound is made from the recording or from notation, not from '{self.source}'.")
        if self.source == "recording" and not self.speeds:
            raise CannotSound("No speed was given: say one at least, such as 50 for half the speed.")
        for speed in self.speeds:
            if not 100 * Fraction(SLOWEST) <= speed <= 100:
                raise CannotSound(f"A speed is {100 * SLOWEST:.0f} to 100 percent of that as played; {speed} came.")
        for laya in self.layas:
            if not LAYAS[0] <= laya <= LAYAS[1]:
                raise CannotSound(f"A laya is {LAYAS[0]} to {LAYAS[1]} matras a minute; {laya} came.")
        self._check("rounds", self.rounds, 1, MOST_ROUNDS)
        self._check("avartans before", self.before, 0, MOST_AVARTANS)
        self._check("avartans after", self.after or 0, 0, MOST_AVARTANS)
        self._check("matras of the count-in", self.count_in or 0, 0, 64)
        self._check("Sa in Hz", self.sa_hz or 60.0, 60, 1200)
        self._check("dB for what sounds under it", self.under_db, -40, 20)
        self._check("loudness in LUFS", self.loudness_lufs, *LOUDNESSES)

    @staticmethod
    def _check(what: str, value: float | Fraction, least: float, most: float) -> None:
        if not least <= value <= most:
            raise CannotSound(f"{what}: {least:g} to {most:g} was expected, {value} came.")


@dataclass(frozen=True)
class SoundPart:
    """A stretch of a sound with its name in words, such as "round 2 at 65 %", for a button that loops it."""

    begin_s: float
    end_s: float
    words: str
    kind: PartKind


@dataclass(frozen=True)
class SoundMade:
    """A sound that was written.

    Attributes
    ----------
    path : Path
    duration_s : float
        Exactly what the matras add up to, to the sample.
    loudness_lufs, true_peak_db : float
        Of what was encoded.
    parts : tuple of SoundPart
        In order of their beginning; pallas, dams and landing lie within their round.
    told : tuple of str
        What was made otherwise than wished for, and why, in sentences.
    """

    path: Path
    duration_s: float
    loudness_lufs: float
    true_peak_db: float
    parts: tuple[SoundPart, ...]
    told: tuple[str, ...] = ()
