"""A point in a recording's history as people write it: a revision's number, a day, a moment, or "now".

A day means its end. A moment without a zone is taken in this machine's own zone, in which moments are also shown; one
with a zone (``2026-01-31T18:00+05:30``, ``...Z``) as it says. What was written by then goes by the clocks of the
machines that wrote it: a recording stood at the last revision that is not later.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from annotate.errors import BadMoment
from annotate.history.ledger import Ledger

NOW = "now"
_HOW = "Write a revision's number (12), a day (2026-01-31), a day with a time ('2026-01-31 18:00', +05:30 after it for "
_HOW += "a zone), or now."


@dataclass(frozen=True)
class Point:
    """What was asked for: one of a revision's number, a moment (aware of its zone), or neither, which is now."""

    number: int | None = None
    moment: datetime | None = None

    @property
    def words(self) -> str:
        """It in words, with its zone."""
        if self.number is not None:
            return f"revision {self.number}"
        return NOW if self.moment is None else moment_words(self.moment)


def parse_point(text: str) -> Point:
    """Read a point in a history.

    Raises
    ------
    BadMoment
        It is none; says how to write one.
    """
    plain = text.strip().casefold()
    if plain == NOW:
        return Point()
    if re.fullmatch(r"[0-9]{1,7}", plain):
        return Point(number=int(plain))
    if re.fullmatch(r"\d{8}", plain):
        raise BadMoment(f"'{text}' is neither a revision's number nor a day. {_HOW}")
    try:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", plain):
            return Point(moment=_end_of(date.fromisoformat(plain)))
        if re.match(r"\d{4}-\d{2}-\d{2}[t ]", plain):
            return Point(moment=datetime.fromisoformat(plain.upper()).astimezone())
    except (ValueError, OverflowError) as error:
        raise BadMoment(f"'{text}' is no moment: {error}. {_HOW}") from None
    hint = f"Did you mean {NOW}? " if difflib.get_close_matches(plain, [NOW], cutoff=0.6) else ""
    raise BadMoment(f"'{text}' is no point in a history. {hint}{_HOW}")


def moment_words(moment: datetime) -> str:
    """Return a moment in this machine's zone, the zone named: ``"2026-01-31 18:00 UTC+05:30"``."""
    local = moment.astimezone()
    clock = "%Y-%m-%d %H:%M:%S" if local.second else "%Y-%m-%d %H:%M"
    offset = f"{local:%z}"
    zone = "UTC" if offset == "+0000" else f"UTC{offset[:3]}:{offset[3:5]}"
    return f"{local.strftime(clock)} {zone}"


def revision_at(ledger: Ledger, point: Point) -> int:
    """Return the number of the revision that a recording stood at; 0 when it was not in the archive yet.

    Raises
    ------
    BadMoment
        It has no such revision.
    """
    if point.number is not None:
        if point.number > ledger.latest:
            raise BadMoment(
                f"'{ledger.slug}' has no revision {point.number}; its latest is {ledger.latest}. "
                f"'layakosh history {ledger.slug}' lists them."
            )
        return point.number
    moment = point.moment
    if moment is None:
        return ledger.latest
    return max((head.number for head in ledger.heads if head.when <= moment), default=0)


def _end_of(day: date) -> datetime:
    """Return the last moment of a day in this machine's zone."""
    return datetime.combine(day + timedelta(days=1), time()).astimezone() - timedelta(microseconds=1)
