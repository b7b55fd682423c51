"""The arithmetic of a tihai in words and figures, as a teacher would write it on the board.

Conventions: a *position* counts matras from the sam of the cycle the tihai begins in, that sam being 1, and runs on
through the cycles (in teental the next sam is 17). All counts are Fractions, written as "5 1/2".

The sum as taught: within, "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1", where the 1 is the landing stroke, which belongs to the
last palla; after, "2 + 1 + 2 + 1 + 2 = 8, then sam: 8 + 1 = 9". A start other than sam enters as the matras before it.
"""

from __future__ import annotations

from fractions import Fraction

from theory.notation_print import to_text
from theory.numbers import matras, spoken
from theory.passage import Passage
from theory.talas import Tala
from theory.tihai import Chain, LandingRule, Tihai, Unit

MOST_WRITTEN_OUT = 5  # pallas up to here are added one by one, more are multiplied


def terms(unit: Unit) -> str:
    """Write a unit's length as a sum: "5 + 1 + 5 + 1 + 5", "12 + (5 + 5 + 5)", "9 x 2 + 8 x 1/2"."""
    if isinstance(unit, Passage):
        return spoken(unit.length)
    if isinstance(unit, Chain):
        return " + ".join(f"({terms(part)})" if isinstance(part, Tihai) else terms(part) for part in unit.parts)
    palla, dam = spoken(unit.palla.length), spoken(unit.dam)
    if unit.times > MOST_WRITTEN_OUT:
        return f"{unit.times} x {palla}" + (f" + {unit.times - 1} x {dam}" if unit.dam else "")
    return (f" + {dam} + " if unit.dam else " + ").join([palla] * unit.times)


def shape(unit: Unit) -> str:
    """Write what a unit is made of: "[Ti Ti, then (Ti Dha 3 times with a dam of 1 matra)] 3 times"."""
    if isinstance(unit, Passage):
        return to_text(unit)
    if isinstance(unit, Chain):
        return ", then ".join(f"({shape(part)})" if isinstance(part, Tihai) else shape(part) for part in unit.parts)
    inside = shape(unit.palla) if isinstance(unit.palla, Passage) else f"[{shape(unit.palla)}]"
    dam = f" with a dam of {matras(unit.dam)}" if unit.dam else ""
    filler = f" ({to_text(unit.filler)})" if unit.filler is not None and unit.filler.notes else ""
    return f"{inside} {unit.times} times{dam}{filler}"


def taught_sum(tala: Tala, start: Fraction, tihai: Tihai, rule: LandingRule, target: Fraction, gap: Fraction) -> str:
    """Write the sum as taught.

    Parameters
    ----------
    tala, start, tihai, rule, target
        As for :func:`theory.paper.check`.
    gap : Fraction
        How far before the nearest target it lands, in matras, with its sign.

    Returns
    -------
    str
        One line of figures.
    """
    text = f"{terms(tihai)} = {spoken(tihai.length)}"
    counted = tihai.length
    if start != 1:
        counted += start - 1
        text += f"; from matra {spoken(start)}: {spoken(start - 1)} + {spoken(tihai.length)} = {spoken(counted)}"
    needed = counted + gap
    if gap:
        text += f", {_off_by(gap)} {spoken(needed)}"
    if rule == LandingRule.WITHIN:
        tail = tihai.palla.length - tihai.palla.last_onset  # from the landing stroke to the end of the palla
        return text + _equals(needed, _split(tala, needed - tail, target, tail))
    cycles = (needed + 1 - target) / tala.matras
    landing = needed + 1
    whole = _equals(needed, _cycles(tala, cycles)) if target == 1 and cycles > 1 else ""
    behind = "" if target == 1 else _equals(landing, _split(tala, needed, target, Fraction(1)))
    return f"{text}{whole}, then {tala.name_of(target)}: {spoken(needed)} + 1 = {spoken(landing)}{behind}"


def _off_by(gap: Fraction) -> str:
    return f"{spoken(gap)} short of" if gap > 0 else f"{spoken(-gap)} over"


def _equals(count: Fraction, parts: str) -> str:
    return "" if parts == spoken(count) else f" = {parts}"


def _cycles(tala: Tala, cycles: Fraction) -> str:
    return str(tala.matras) if cycles == 1 else f"{cycles} x {tala.matras}"


def _split(tala: Tala, before: Fraction, target: Fraction, tail: Fraction) -> str:
    """Write what is counted up to the end as whole cycles, matras before the target, and the landing stroke."""
    cycles = (before + 1 - target) / tala.matras
    parts = [_cycles(tala, cycles)] if cycles else []
    if tail == 1:
        parts.append(spoken(target))
    else:
        parts += [spoken(part) for part in (target - 1, tail) if part]
    return " + ".join(parts)


def verdict(tala: Tala, start: Fraction, offset: Fraction, rule: LandingRule, target: Fraction, gap: Fraction) -> str:
    """Say in one sentence whether it lands, and if not, by how much and where it comes instead.

    Parameters
    ----------
    tala, start, rule, target
        As for :func:`theory.paper.check`.
    offset : Fraction
        How long after the start the landing stroke comes, in matras.
    gap : Fraction
        How far before the nearest target it lands, in matras, with its sign.
    """
    aim = tala.name_of(target)
    if gap == 0:
        return f"Lands on {aim}, {matras(offset)} after it begins on {tala.name_of(start)}."
    stroke = "its last stroke" if rule == LandingRule.WITHIN else "the landing stroke"
    where = tala.name_of(tala.wrap(start - 1 + offset))
    if gap > 0:
        return f"Falls {matras(gap)} short of {aim}: {stroke} comes on {where}."
    return f"Overshoots {aim} by {matras(-gap)}: {stroke} comes on {where}."


def line_by_line(tala: Tala, start: Fraction, tihai: Tihai, rule: LandingRule, offset: Fraction) -> tuple[str, ...]:
    """Write where every palla and dam begins, and where the landing comes, one line each.

    Parameters
    ----------
    tala, start, tihai, rule
        As for :func:`theory.paper.check`.
    offset : Fraction
        How long after the start the landing stroke comes, in matras.
    """
    lines = []
    if not isinstance(tihai.palla, Passage):
        lines.append(f"Each round: {terms(tihai.palla)} = {matras(tihai.palla.length)}")
    name = "Palla" if isinstance(tihai.palla, Passage) else "Round"
    for count, onset in enumerate(tihai.statement_onsets, 1):
        lines.append(f"{name} {count}: from {_place(tala, start, onset)}, {matras(tihai.palla.length)}")
        if tihai.dam and count < tihai.times:
            after = onset + tihai.palla.length
            lines.append(f"Dam {count}: from {_place(tala, start, after)}, {matras(tihai.dam)}")
    if rule == LandingRule.WITHIN:
        lines.append(f"Landing: the last stroke, {matras(tihai.palla.last_onset)} into {name.lower()} {tihai.times}")
    else:
        lines.append(f"Landing: the stroke after {name.lower()} {tihai.times}")
    lines[-1] += f", on {_place(tala, start, offset)}"
    return tuple(lines)


def _place(tala: Tala, start: Fraction, offset: Fraction) -> str:
    position = start - 1 + offset
    return f"{tala.name_of(tala.wrap(position))} of cycle {position // tala.matras + 1}"
