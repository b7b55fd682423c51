"""A number with its interval, item by item: a change per year, or the difference between two sides.

Conventions: percentage points; the interval is the 95 % one. A full sign stands where the interval leaves out zero, a
hollow one where it does not, or where there is none. What is returned is drawn by ``assets/intervals.mjs``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any


def intervals_drawing(
    items: Sequence[str],
    values: Sequence[float],
    lows: Sequence[float],
    highs: Sequence[float],
    x_title: str,
    y_title: str,
) -> Mapping[str, Any]:
    """Tell what is drawn of values with their intervals, the first item on top.

    Parameters
    ----------
    items : sequence of str
    values, lows, highs : sequence of float
        In percentage points; NaN where there is no interval.
    x_title, y_title : str
        Titles of the axes, with the unit.
    """
    rows = []
    for item, value, low, high in zip(items, values, lows, highs, strict=True):
        known = math.isfinite(low) and math.isfinite(high)
        rows.append(
            {
                "item": item,
                "value": round(value, 3),
                "low": round(low, 3) if known else None,
                "high": round(high, 3) if known else None,
                "told": known and (low > 0 or high < 0),
            }
        )
    return {"x_title": x_title, "y_title": y_title, "rows": rows}
