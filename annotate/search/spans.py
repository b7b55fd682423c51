"""A count or a range of counts, as a search asks for it: ``5``, ``11/2``, ``4..6``, ``4..``, ``..6``, ends included."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from annotate.errors import BadPattern
from theory.errors import BadNumber
from theory.numbers import parse_matras, stored

_DOTS = ".."


@dataclass(frozen=True)
class Span:
    """From ``low`` to ``high``, both included; None leaves that side open."""

    low: Fraction | None
    high: Fraction | None

    def of_counts(self, written: pd.Series, value: pd.Series) -> NDArray[np.bool_]:
        """Tell which exact counts lie in it.

        Parameters
        ----------
        written : Series of str, shape (n,)
            The counts as ``n/d`` in lowest terms, as the index keeps them.
        value : Series of float, shape (n,)
            The same as floats, each the nearest to its count. So is a limit, and rounding keeps order: the comparison
            agrees with that of the counts, but for two that differ by less than 1 part in 10**15.
        """
        if self.low is not None and self.low == self.high:
            return np.asarray(written == stored(self.low), dtype=bool)
        return self.of_values(value)

    def of_values(self, value: pd.Series, slack: float = 0.0) -> NDArray[np.bool_]:
        """Tell which measured values lie in it, or within ``slack`` of it; NaN lies nowhere."""
        values = value.to_numpy(dtype=float, na_value=np.nan)
        low = -np.inf if self.low is None else float(self.low) - slack
        high = np.inf if self.high is None else float(self.high) + slack
        return (values >= low) & (values <= high)


def parse_span(text: str) -> Span:
    """Read a count or a range.

    Raises
    ------
    BadPattern
        When it is neither, or the range runs backwards.
    """
    low, dots, high = text.partition(_DOTS)
    try:
        ends = [parse_matras(end) if end.strip() else None for end in (low, high)]
    except BadNumber:
        ends = [None, None]
    if ends == [None, None] or (dots and ends[1] is None and high.strip()):
        raise BadPattern(text, 0, "Expected a count (5, 11/2) or a range (4..6, 4.., ..6).")
    if not dots:
        return Span(ends[0], ends[0])
    if ends[0] is not None and ends[1] is not None and ends[0] > ends[1]:
        raise BadPattern(text, 0, "The range runs backwards: write the smaller count first.")
    return Span(ends[0], ends[1])
