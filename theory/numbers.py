"""Counts of matras as exact fractions: reading what a musician types, writing for people and for tables.

Conventions: every count is a :class:`fractions.Fraction`. Decimals are read exactly ("5.5" is 11/2), no float is made.
"""

from __future__ import annotations

import re
from fractions import Fraction

from theory.errors import BadNumber

_SHAPE = re.compile(
    r"""(?P<sign>[+-]?)\s*
        (?: (?P<whole>\d{1,9}) \s+ (?P<num>\d{1,9}) \s*/\s* (?P<den>\d{1,9})     # 5 1/2
          | (?P<top>\d{1,9}) \s*/\s* (?P<bottom>\d{1,9})                        # 11/2
          | (?P<decimal>\d{1,9}(?:\.\d{1,9})? | \.\d{1,9})                      # 5, 5.5, .5
        )""",
    re.VERBOSE,
)


def parse_matras(text: str) -> Fraction:
    """Read a count of matras as a musician types it.

    Parameters
    ----------
    text : str
        ``"5"``, ``"11/2"``, ``"5 1/2"``, ``"5.5"`` (an exact decimal) or any of these after a sign.

    Returns
    -------
    Fraction
        The count in matras; the sign belongs to the whole of it ("-5 1/2" is -11/2).

    Raises
    ------
    BadNumber
        When the text is none of these, or divides by zero.
    """
    found = _SHAPE.fullmatch(text.strip())
    if found is None:
        raise BadNumber(f"'{text}' is not a count of matras. Write it as 5, 11/2, 5 1/2 or 5.5.")
    try:
        if found["whole"] is not None:
            size = int(found["whole"]) + Fraction(int(found["num"]), int(found["den"]))
        elif found["top"] is not None:
            size = Fraction(int(found["top"]), int(found["bottom"]))
        else:
            size = Fraction(found["decimal"])
    except ZeroDivisionError:
        raise BadNumber(f"'{text}' divides by zero. Write a count of matras such as 5, 11/2 or 5 1/2.") from None
    return -size if found["sign"] == "-" else size


def stored(count: Fraction) -> str:
    """Write a count for tables and JSON: always numerator/denominator ("17/1", "11/2", "-1/2")."""
    return f"{count.numerator}/{count.denominator}"


def spoken(count: Fraction) -> str:
    """Write a count for people: "17", "5 1/2", "-1/2"."""
    sign = "-" if count < 0 else ""
    whole, rest = divmod(abs(count), 1)
    if rest == 0:
        return f"{sign}{whole}"
    part = f"{rest.numerator}/{rest.denominator}"
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"


def matras(count: Fraction) -> str:
    """Write a count with its unit: "1 matra", "1/2 matra", "5 1/2 matras", "0 matras"."""
    return f"{spoken(count)} {'matra' if 0 < abs(count) <= 1 else 'matras'}"
