"""What is sounded, stroke by stroke: the one language between a score and the instruments.

A score (anything that knows a tala and a clock) makes a :class:`Part`; the synthesis turns a part into sound and knows
nothing of talas or ragas. New material, say for a benchmark, needs only a new score.

Conventions: time in seconds from the start of the recording, frequency in Hz, level linear with 1.0 the loudest
intended stroke, pan from -1 (left) to 1 (right).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Action = Literal["rings", "dead", "none"]
"""What a drum does in a stroke; the same words as ``theory.bols``."""


@dataclass(frozen=True)
class Pluck:
    """One stroke on a course of the mandolin.

    Attributes
    ----------
    onset_s : float
        When the pick lets the string go.
    sounding_s : float
        How long it may ring before it is damped.
    hz : float
        Pitch that is reached.
    level : float
        0 to 1.
    from_hz : float or None
        For a meend: the pitch at the onset; the glide to ``hz`` takes ``glide_s``.
    glide_s : float
        Length of the glide.
    sway_cents : float
        Depth of a slow andolan on a long note; 0 for a straight one.
    upstroke : bool
        An upstroke is a little softer and brighter.
    """

    onset_s: float
    sounding_s: float
    hz: float
    level: float
    from_hz: float | None = None
    glide_s: float = 0.0
    sway_cents: float = 0.0
    upstroke: bool = False


@dataclass(frozen=True)
class Stroke:
    """One stroke on the pair of tabla.

    Attributes
    ----------
    onset_s : float
        When the hand meets the skin.
    bass, treble : Action
        What the bayan and the dayan do.
    colour : str
        Tone of the dayan: ``"rim"``, ``"sur"`` or ``"open"`` when it rings.
    level : float
        0 to 1.
    bend : float
        Rise (or fall) of the bayan's pitch by the heel of the hand, as a share of its pitch.
    """

    onset_s: float
    bass: Action
    treble: Action
    colour: str
    level: float
    bend: float = 0.0


@dataclass(frozen=True)
class Part:
    """Everything that is sounded in one recording.

    Attributes
    ----------
    sa_hz : float
        Sa of the lead's middle octave; the dayan is tuned to it.
    duration_s : float
        Length of the recording.
    plucks, strokes : tuple
        The mandolin's and the tabla's strokes.
    drone_ratios : tuple of float
        The four strings of the tanpura as ratios to ``sa_hz``; empty for no tanpura.
    """

    sa_hz: float
    duration_s: float
    plucks: tuple[Pluck, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    drone_ratios: tuple[float, ...] = field(default=())
