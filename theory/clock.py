"""Times in a recording as people write them: "62.5", "1:02.5", "1:02:03.5".

Conventions: a time is float seconds from the start of the recording, never negative.
"""

from __future__ import annotations

import math
import re

from theory.errors import BadClock

_SHAPE = re.compile(r"(?:(?:(\d{1,4}):)?(\d{1,6}):)?(\d{1,9}(?:\.\d*)?|\.\d+)")


def parse_clock(text: str) -> float:
    """Read a time in a recording.

    Parameters
    ----------
    text : str
        Seconds (``"62.5"``), minutes and seconds (``"1:02.5"``) or hours, minutes and seconds (``"1:02:03.5"``).

    Returns
    -------
    float
        Seconds from the start of the recording.

    Raises
    ------
    BadClock
        When the text is none of these, or a part after a colon is 60 or more.
    """
    found = _SHAPE.fullmatch(text.strip())
    if found is None:
        raise BadClock(f"'{text}' is not a time in a recording. Write seconds (62.5), m:ss (1:02.5) or h:mm:ss.")
    hours, minutes, seconds = found[1], found[2], float(found[3])
    if (minutes is not None and seconds >= 60) or (hours is not None and int(minutes) >= 60):
        raise BadClock(f"'{text}' is not a time in a recording: minutes and seconds after a colon stay below 60.")
    return int(hours or 0) * 3600.0 + int(minutes or 0) * 60.0 + seconds


def format_clock(time_s: float, decimals: int | None = None) -> str:
    """Write a time in a recording as "0:05", "1:02.5" or "1:02:03.5".

    Parameters
    ----------
    time_s : float
        Seconds from the start of the recording; a negative time (before it) keeps its sign.
    decimals : int, optional
        Decimals of the seconds. Left out: as many as are needed, at most three (milliseconds).

    Returns
    -------
    str
        Minutes and seconds, with hours in front from one hour on.

    Raises
    ------
    BadClock
        When the time is not a finite number.
    """
    if not math.isfinite(time_s):
        raise BadClock(f"{time_s} is not a time in a recording.")
    places = 3 if decimals is None else decimals
    ticks = round(abs(time_s) * 10**places)
    whole, part = divmod(ticks, 10**places)
    fraction = f".{part:0{places}d}" if places else ""
    if decimals is None:
        fraction = fraction.rstrip("0").rstrip(".")
    hours, rest = divmod(whole, 3600)
    minutes, seconds = divmod(rest, 60)
    head = f"{hours}:{minutes:02d}" if hours else f"{minutes}"
    sign = "-" if time_s < 0 and ticks else ""
    return f"{sign}{head}:{seconds:02d}{fraction}"
