"""Making a unit of a tihai longer or shorter before its last stroke, which keeps its length.

Conventions: in a chain the first part is changed, in a tihai its own palla, so that a change inside may come several
times in the whole. What is added is a sketch for the musician to fill: the note before the change is prolonged.
"""

from __future__ import annotations

from fractions import Fraction

from theory.passage import Note, Passage, cut, join, silence
from theory.tihai import Chain, Tihai, Unit, has_stroke


def resize(unit: Unit, change: Fraction) -> Unit:
    """Return a unit whose changed place is longer or shorter by so many matras; as a whole by that times its repeats.

    A longer passage prolongs the note before its last one (a single stroke comes twice), a shorter one loses what does
    not fit. Ask :func:`can_resize` first.
    """
    if isinstance(unit, Tihai):
        return Tihai(resize(unit.palla, change), unit.dam, unit.times, unit.filler)
    if isinstance(unit, Chain):
        first, rest = unit.parts[0], unit.parts[1:]
        return Chain((_resize_end(first, change) if _leads_in(unit) else resize(first, change), *rest))
    body, stroke = cut(unit, unit.last_onset)
    if not body.notes and change > 0:
        again = Note(unit.notes[-1].symbol, Fraction(0), change)
        return join([body, Passage(unit.system, (again,), change), stroke])
    return join([_resize_end(body, change), stroke])


def can_resize(unit: Unit, change: Fraction) -> bool:
    """Tell whether a unit can be so much longer or shorter and keep its last stroke."""
    if isinstance(unit, Tihai):
        return can_resize(unit.palla, change)
    if isinstance(unit, Chain):
        return unit.parts[0].length + change > 0 if _leads_in(unit) else can_resize(unit.parts[0], change)
    return unit.last_onset + change > 0 or (len(unit.notes) == 1 and unit.last_onset + change >= 0)


def repeats(unit: Unit) -> int:
    """Return how many times the changed place comes in a unit."""
    if isinstance(unit, Tihai):
        return unit.times * repeats(unit.palla)
    return repeats(unit.parts[0]) if isinstance(unit, Chain) else 1


def _leads_in(chain: Chain) -> bool:
    """Tell whether a chain begins with a passage that does not hold its last stroke, such as a chakradar's bol."""
    return isinstance(chain.parts[0], Passage) and any(has_stroke(part) for part in chain.parts[1:])


def _resize_end(unit: Unit, change: Fraction) -> Passage:
    """Move the end of a passage; its last note is prolonged with it or cut off."""
    assert isinstance(unit, Passage)
    if change <= 0:
        return cut(unit, unit.length + change)[0]
    if not unit.notes:
        return join([unit, silence(change)])
    *before, last = unit.notes
    longer = Note(last.symbol, last.onset, last.length + change)
    return Passage(unit.system, (*before, longer), unit.length + change)
