"""Two people's orders of the same things put together: chapters of a course, pieces of a chapter.

Conventions: an order is a tuple of keys, each once. What either took out is out, what either put in is in, behind
whatever stood before it there. Only where both moved what both have, and not alike, can it not be told.
"""

from __future__ import annotations

from typing import Literal

Keep = Literal["", "mine", "theirs"]
"""Whose version is kept of what both changed; empty: neither, it is to be asked."""

Order = tuple[str, ...]


def put_together(base: Order, theirs: Order, mine: Order, keep: Keep = "") -> tuple[Order, bool]:
    """Return the order that has the changes of both, and whether both moved the same things.

    Where they did, the order is that of whom ``keep`` names; theirs where it is empty.
    """
    if mine in (base, theirs):
        return theirs, False
    if theirs == base:
        return mine, False
    common = set(base) & set(theirs) & set(mine)
    was, by_them, by_me = (tuple(key for key in each if key in common) for each in (base, theirs, mine))
    clashing = was not in (by_them, by_me) and by_them != by_me
    mine_leads = keep == "mine" if clashing else by_them == was
    leading, other = (mine, theirs) if mine_leads else (theirs, mine)
    gone = set(base) - common
    merged = tuple(key for key in leading if key not in gone)
    for key in other:
        if key not in base:
            merged = inserted(merged, other, key)
    return merged, clashing


def inserted(order: Order, other: Order, key: str) -> Order:
    """Return an order with a key that another order has, behind the nearest before it there that is here."""
    if key in order:
        return order
    before = other[: other.index(key)]
    place = next((order.index(each) + 1 for each in reversed(before) if each in order), 0)
    return (*order[:place], key, *order[place:])
