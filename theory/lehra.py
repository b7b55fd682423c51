"""A lehra of our own: a melodic cycle that marks the avartan while somebody practises.

It is no traditional lehra and no composition. Lehras that are played for tabla are composed and learnt from a teacher;
this one only follows from the raga's own way down and up and the tala's vibhags, so that sam is heard:

* it goes down the avaroha and up the aroha as the raga's table writes them, once an avartan, so that no swara comes in
  a direction that the raga does not allow;
* it is turned so that sam falls on the vadi, on the way down, or on the upper Sa where the raga has no agreed vadi;
* where it has fewer swaras than the tala has matras, those on which vibhags begin are held; where it has more, the last
  matras of the vibhags take two of them or more. Sam has one.

Conventions: onsets in matras from sam (0).
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from theory.notation import parse
from theory.passage import Note, Passage
from theory.ragas import Raga
from theory.swaras import split_symbol
from theory.talas import Tala


@lru_cache(maxsize=64)
def lehra(raga: Raga, tala: Tala) -> Passage:
    """Return a melodic cycle in a raga for a tala, one avartan long."""
    symbols = _from_vadi(_round(raga), raga.vadi)
    counts = _shared_out(len(symbols), tala)
    notes: list[Note] = []
    waiting = iter(symbols)
    for matra, count in enumerate(counts):
        if not count:
            held = notes[-1]
            notes[-1] = Note(held.symbol, held.onset, held.length + 1)
        for place in range(count):
            notes.append(Note(next(waiting), matra + Fraction(place, count), Fraction(1, count)))
    return Passage("sargam", tuple(notes), Fraction(tala.matras))


def _round(raga: Raga) -> list[str]:
    """Down and up again, as written; where one ends as the other begins, that swara comes once."""
    symbols: list[str] = []
    for symbol in (*parse(raga.avaroha).symbols, *parse(raga.aroha).symbols):
        if not symbols or symbols[-1] != symbol:
            symbols.append(symbol)
    if len(symbols) > 1 and symbols[0] == symbols[-1]:
        symbols.pop()
    return symbols


def _from_vadi(symbols: list[str], vadi: str) -> list[str]:
    first = next((place for place, symbol in enumerate(symbols) if split_symbol(symbol)[0].letter == vadi), 0)
    return symbols[first:] + symbols[:first]


def _shared_out(count: int, tala: Tala) -> list[int]:
    """How many swaras each matra has: as even as may be, over all vibhags alike, sam one."""
    ends = [start + length for start, length in zip(tala.vibhag_starts, tala.vibhags, strict=True)]
    # the matras within vibhags: the last of each vibhag, from the last vibhag back, then those before them
    within = [
        end - back
        for back in range(1, max(tala.vibhags))
        for start, end in reversed(list(zip(tala.vibhag_starts, ends, strict=True)))
        if end - back > start
    ]
    starts = [start for start in tala.vibhag_starts if start != 1]
    counts = [0] * tala.matras
    for matra in [1, *starts, *within][:count]:
        counts[matra - 1] = 1
    more = [*within, *reversed(starts)] or [1]
    for number in range(count - tala.matras):
        counts[more[number % len(more)] - 1] += 1
    return counts
