"""Words for people: measured amounts, matras and targets as a musician says them."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from annotate.grid import Grid
from annotate.records import TihaiRecord
from theory.numbers import matras, spoken
from theory.paper import PaperCheck
from theory.talas import Tala
from theory.tihai import LandingRule

Outcome = Literal["lands", "early", "late", "misses", "unknown"]

_INTERVAL_HEAD = {
    "lands": "Ends on",
    "early": "Ends before",
    "late": "Ends after",
    "misses": "Ends a matra or more from",
}


def place(target: Fraction) -> str:
    """Return the name of a target: ``"sam"``, ``"matra 12"``, ``"matra 16 1/2"``."""
    return "sam" if target == 1 else f"matra {spoken(target)}"


def about_matras(count: float) -> str:
    """Return a measured amount: ``"0.04 matra"``, ``"2.3 matras"``."""
    count = abs(count)
    if count < 1:
        return f"{count:.2f} matra"
    return f"{count:.1f} matras"


def deviation(dev_ms: float, dev_matras: float) -> str:
    """Return a deviation with its direction: ``"23 ms late (0.04 matra)"``; below 1.5 ms ``"on the dot"``."""
    if abs(dev_ms) < 1.5:
        return "on the dot"
    amount = f"{abs(dev_ms):.0f} ms" if abs(dev_ms) < 1000 else f"{abs(dev_ms) / 1000:.2f} s"
    return f"{amount} {'late' if dev_ms > 0 else 'early'} ({about_matras(dev_matras)})"


def falls(shortfall: Fraction, target: Fraction) -> str:
    """Return where a tihai that misses falls on paper: ``"1 matra short of sam"``, ``"1/2 matra past matra 12"``."""
    side = "short of" if shortfall > 0 else "past"
    return f"{matras(abs(shortfall))} {side} {place(target)}"


def sentence_of(
    record: TihaiRecord,
    paper: PaperCheck | None,
    verdict: Outcome,
    dev_ms: float,
    dev_matras: float,
    as_written: bool | None,
) -> str:
    """Return the verdict on a tihai in one line for a musician.

    Parameters
    ----------
    record, paper, verdict
        What was played, its arithmetic where it is written, and the outcome.
    dev_ms, dev_matras : float
        Landing minus target as played.
    as_written : bool or None
        Whether it was played as written, which misses; None where it lands on paper or nothing is written.
    """
    where = place(record.target)
    if len(record.palla_s) == 1:
        return f"{_INTERVAL_HEAD[verdict]} {where}: {_end_of_interval(dev_ms, dev_matras)}"
    stroke = "last" if record.rule is LandingRule.WITHIN else "landing"
    played = f"the {stroke} stroke came {deviation(dev_ms, dev_matras)}"
    on_paper = f"on paper it falls {falls(paper.shortfall, record.target)}" if paper and not paper.lands else ""
    if verdict != "lands" and as_written:
        return f"{verdict.capitalize()}: {on_paper}, and it was played so."
    head = {"lands": "Lands on", "misses": "Misses"}.get(verdict, f"{verdict.capitalize()} for")
    if on_paper:
        return f"{head} {where} as played: {played}; but {on_paper}. Paper and playing disagree."
    if paper is not None and verdict != "lands":
        return f"{head} {where} as played: {played}; on paper it lands. Paper and playing disagree."
    return f"{head} {where}: {played}."


def _end_of_interval(dev_ms: float, dev_matras: float) -> str:
    amount = f"{abs(dev_ms):.0f} ms {'after' if dev_ms > 0 else 'before'} it ({about_matras(dev_matras)})"
    return f"the interval ends {amount}; the landing stroke itself is not marked."


def sentence_without_grid(
    record: TihaiRecord, paper: PaperCheck | None, section: Grid | None, tala: Tala | None
) -> str:
    """Return what can be said of a tihai that no grid measures, and what to do about it."""
    if section is not None and tala is not None:
        why = f"it is counted in {tala.name} and the section '{section.section}' is in {section.tala.name}"
    else:
        why = "no sams are known where it is played; mark two or more"
    if paper is None:
        return f"Not measured: {why}."
    told = "lands" if paper.lands else f"falls {falls(paper.shortfall, record.target)}"
    return f"On paper it {told}. As played not measured: {why}."
