"""What is said of a proposal in a dozen numbers that a musician can weigh, to learn from few decisions.

The finder itself goes by ten times as many; what a person's decisions change is how much a few plain things count.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from annotate.proposals.proposed import Found

SAID = (
    "how alike the three pallas are",
    "how alike what lies before them is",
    "how alike what follows them is",
    "how much sounds in the dam",
    "how alike the same place of other cycles is",
    "how much stronger the landing is struck",
    "that it lands on sam",
    "how far from its target it lands on paper",
    "how long it takes from palla to palla",
    "how much of that is palla",
    "that the tabla plays it alone",
    "that the lead plays it alone",
    "that each palla holds a tihai",
)
"""What each number says, in order."""

_SURE = 0.02
"""Nearer to 0 or 1 than this no confidence is taken at its word."""


def said_of(found: Found, names: Sequence[str]) -> tuple[float, ...]:
    """Return the numbers of `SAID`; what was not measured is not a number.

    Parameters
    ----------
    found : Found
    names : sequence of str
        What its measures are, in order.
    """
    from ingest.finding.reasons import VOICE

    proposal = found.proposal
    value = dict(zip(names, map(float, proposal.measures), strict=True))
    by, voices = proposal.played_by, VOICE[proposal.played_by]

    def most(name: str) -> float:
        """Of the voices that play it, the one of which it is truest; where one sounds at all."""
        return max((_clipped(value.get(f"{by}: {voice} {name}", math.nan)) for voice in voices), default=math.nan)

    return (
        most("least"),
        most("before"),
        most("after"),
        most("busy dam"),
        max(_clipped(value.get(f"{voice} elsewhere", math.nan)) for voice in voices),
        _clipped(value.get("louder", math.nan)),
        float(proposal.aims_at == "sam" and proposal.off == 0),
        min(abs(float(proposal.off)), 2.0),
        math.log(max(proposal.palla_s[1] - proposal.palla_s[0], 0.1)),
        _clipped(value.get(f"{by}: share", math.nan)),
        float(by == "tabla"),
        float(by == "lead"),
        float(proposal.kind in ("chakradar", "nauhakka")),
    )


def _clipped(measure: float) -> float:
    """A measure without its rare extremes, and without the sign of "there is none"; what is no number stays so."""
    return measure if math.isnan(measure) else min(max(measure, -1.0), 3.0)


def within_doubt(confidence: float) -> float:
    """Return a confidence that is neither 0 nor 1."""
    return min(max(confidence, _SURE), 1 - _SURE)


def log_odds(confidence: float) -> float:
    """Return the log odds of a confidence."""
    chance = within_doubt(confidence)
    return math.log(chance / (1 - chance))
