"""Random music for property tests: counts of matras, passages, units and tihais, small enough to stay quick."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from theory.passage import Note, Passage
from theory.talas import Tala, all_talas
from theory.tihai import Chain, Tihai

SWARAS = ("S", "r", "G", "m", "M", "P", "D", "n", "N", "S'", ".n", "..P", "G''")
BOLS = ("Dha", "Dhin", "Ta", "Ti", "Ra", "Ki", "Ge", "Na", "Kat")

talas = st.sampled_from(all_talas())
positive = st.builds(Fraction, st.integers(1, 36), st.sampled_from((1, 2, 3, 4, 6)))
not_negative = st.builds(Fraction, st.integers(0, 24), st.sampled_from((1, 2, 3, 4)))


@st.composite
def passages(draw: st.DrawFn, least_notes: int = 0) -> Passage:
    """Notes of any length with silences of any length before, between and after."""
    system = draw(st.sampled_from(("sargam", "bols")))
    symbols = draw(st.lists(st.sampled_from(SWARAS if system == "sargam" else BOLS), min_size=least_notes, max_size=6))
    here = Fraction(0)
    notes = []
    for symbol in symbols:
        here += draw(not_negative) / 4
        length = draw(positive) / 4
        notes.append(Note(symbol, here, length))
        here += length
    return Passage(system if notes else "empty", tuple(notes), here + draw(not_negative) / 4)


@st.composite
def bol_passages(draw: st.DrawFn) -> Passage:
    """A palla in bols, with at least one stroke."""
    return draw(passages(least_notes=1).filter(lambda passage: passage.system == "bols"))


@st.composite
def tihais(draw: st.DrawFn, depth: int = 1) -> Tihai:
    """A tihai of a passage, of a chain of passage and tihai, or of a tihai."""
    shapes = ["passage", "passage", "chain", "tihai"] if depth else ["passage"]
    shape = draw(st.sampled_from(shapes))
    dam = draw(not_negative) / 2
    times = draw(st.sampled_from((2, 3, 3, 3, 4)))
    if shape == "passage":
        return Tihai(draw(bol_passages()), dam, times)
    inner = draw(tihais(depth=depth - 1))
    return Tihai(Chain((draw(bol_passages()), inner)) if shape == "chain" else inner, dam, times)


@st.composite
def matra_of(draw: st.DrawFn, tala: Tala) -> Fraction:
    """A matra number of a tala, often fractional."""
    parts = draw(st.sampled_from((1, 2, 3, 4)))
    return 1 + Fraction(draw(st.integers(0, tala.matras * parts - 1)), parts)
