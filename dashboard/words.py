"""Words and signs that all pages share: verdicts, names, dates, lengths.

Conventions: a verdict is told by a word and a sign; colour only repeats it. Missing values are an empty text, which the
tables leave blank.
"""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction

from annotate.records import Recording, TihaiRecord
from annotate.verify import Verdict
from annotate.wording import falls, place
from theory.clock import format_clock
from theory.errors import UnknownName
from theory.numbers import matras, spoken
from theory.ragas import get_raga
from theory.talas import get_tala
from theory.tihai import LandingRule

SIGNS = {"lands": "●", "early": "◂", "late": "▸", "misses": "✕", "unknown": "–"}
"""The sign of each verdict: on the spot, before it, after it, beside it."""

WORDS = {"lands": "lands", "early": "early", "late": "late", "misses": "misses", "unknown": "not measured"}

RULES = {
    LandingRule.WITHIN: "within: the palla's last stroke lands",
    LandingRule.AFTER: "after: the stroke after the third palla lands",
}


def raga_name(raga: str) -> str:
    """Name a raga for people; free text stays as it is."""
    try:
        return get_raga(raga).name if raga else ""
    except UnknownName:
        return raga


def tala_name(tala: str) -> str:
    """Name a tala for people."""
    try:
        return get_tala(tala).name if tala else ""
    except UnknownName:
        return tala


def day(performed_on: date | None) -> str:
    """Write a date as 7 Mar 2026."""
    return f"{performed_on.day} {performed_on:%b %Y}" if performed_on else ""


def length(duration_s: float | None) -> str:
    """Write a length of time, to the second."""
    return format_clock(duration_s, decimals=0) if duration_s else ""


def musicians(recording: Recording) -> str:
    """Name the musicians with what they play: "A. Name (mandolin), B. Name (tabla)"."""
    return ", ".join(f"{name} ({role})" if role else name for role, name in recording.musicians)


def amount_ms(dev_ms: float | None) -> str:
    """Write a deviation with its sign, late positive: "+12 ms", or "-1.2 s" when it is long."""
    if dev_ms is None:
        return ""
    if round(abs(dev_ms)) < 1:
        return "0 ms"
    sign = "+" if dev_ms > 0 else "\N{MINUS SIGN}"
    return f"{sign}{abs(dev_ms):.0f} ms" if abs(dev_ms) < 1000 else f"{sign}{abs(dev_ms) / 1000:.2f} s"


def on_paper(verdict: Verdict) -> str:
    """Say in a few words what the arithmetic gives."""
    if verdict.paper is None:
        return "not written"
    return "lands" if verdict.paper.lands else falls(verdict.paper.shortfall, verdict.target_matra)


def landing_words(verdict: Verdict) -> str:
    """What stands beside a landing on the folded page, whose ring carries the sign: "t01 lands +12 ms"."""
    return " ".join(filter(None, [verdict.tihai, WORDS[verdict.verdict], amount_ms(verdict.landing_dev_ms)]))


def tihai_title(record: TihaiRecord) -> str:
    """Describe a tihai in one line for a tooltip."""
    parts = [f"Tihai {record.tihai}"]
    if record.palla:
        parts.append(f"palla {record.palla}")
    if record.dam is not None:
        parts.append(f"dam {matras(record.dam)}" if record.dam else "no dam")
    return "; ".join([*parts, f"aimed at {place(record.target)}"])


def unbroken(text: str) -> str:
    """Keep the whole and the fraction of a count ("16 1/2") on one line."""
    return re.sub(r"(?<=\d) (?=\d+/\d)", "\N{NO-BREAK SPACE}", text)


def matra_number(matra: Fraction | None) -> str:
    """Write a matra number or a count of matras, empty when it is not known."""
    return "" if matra is None else spoken(matra)


def played_matra(matra: float, matras: int, decimals: int = 2) -> str:
    """Write a measured matra number of a tala of ``matras``; what rounds to the next sam is written as 1."""
    rounded = round(matra, decimals)
    return f"{rounded - matras if rounded >= matras + 1 else rounded:.{decimals}f}"


def about_matra(matra: float, matras: int) -> str:
    """Write a matra number to a tenth, a whole one without: "9", "9.3"."""
    return played_matra(matra, matras, 1).removesuffix(".0")
