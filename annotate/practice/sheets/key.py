"""The key at the foot of a piece: what its signs mean, those that it has."""

from __future__ import annotations

from collections.abc import Iterable

from annotate.practice.sheets.systems import Written
from theory.layout import Script
from theory.passage import Passage
from theory.swaras import split_symbol

_TYPED = {
    "komal": "a small letter: komal",
    "tivra": "M: tivra ma, m: shuddha ma",
    "lower": "a point before: lower octave",
    "upper": "a stroke after: upper octave",
}
_SIGNED = {
    "komal": "a line below: komal",
    "tivra": "an upright line above: tivra",
    "lower": "a dot below: lower octave",
    "upper": "a dot above: upper octave",
}


def key_of(passages: Iterable[Passage], script: Script) -> tuple[str, ...]:
    """Return what the signs of swaras mean, as far as the passages have them."""
    symbols = {symbol for passage in passages if passage.system == "sargam" for symbol in passage.symbols}
    pairs = [split_symbol(symbol) for symbol in symbols]
    there = {swara.kind for swara, _ in pairs}
    there |= {"upper" for _, octave in pairs if octave > 0} | {"lower" for _, octave in pairs if octave < 0}
    said = _TYPED if script == "typed" else _SIGNED
    return tuple(words for sign, words in said.items() if sign in there)


def key_of_written(written: Written) -> tuple[str, ...]:
    """Return what the signs in systems mean, as far as they are there."""
    kinds = {sign.kind for sign in written.signs}
    shared = any(sign.length < 1 for sign in written.signs)
    return (
        *key_of([written.passage], written.script),
        *(["an arc joins what shares a matra"] if shared else []),
        *(["–: the note goes on"] if "held" in kinds else []),
        *(["·: silence"] if "silent" in kinds else []),
        *(["a triangle: the landing"] if written.lands is not None else []),
        *(["+1: bent up by a semitone"] if any(place.bend for place in written.places) else []),
    )
