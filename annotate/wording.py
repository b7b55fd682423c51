"""Words for people: measured amounts, matras and targets as a musician says them."""

from __future__ import annotations

from fractions import Fraction

from theory.numbers import matras, spoken


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
    """Return a deviation with its direction: ``"23 ms late (0.04 matra)"``; below a millisecond ``"on the dot"``."""
    if abs(dev_ms) < 1:
        return "on the dot"
    amount = f"{abs(dev_ms):.0f} ms" if abs(dev_ms) < 1000 else f"{abs(dev_ms) / 1000:.2f} s"
    return f"{amount} {'late' if dev_ms > 0 else 'early'} ({about_matras(dev_matras)})"


def falls(shortfall: Fraction, target: Fraction) -> str:
    """Return where a tihai that misses falls on paper: ``"1 matra short of sam"``, ``"1/2 matra past matra 12"``."""
    side = "short of" if shortfall > 0 else "past"
    return f"{matras(abs(shortfall))} {side} {place(target)}"
