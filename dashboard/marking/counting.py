"""Counting while somebody types: matras, sum and bars, by the same code that checks what is saved.

Conventions: an answer holds lines to be read, and whether they tell of a fault; a fault in what is typed keeps the
columns of its caret.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from annotate.verify import simple_fraction
from dashboard.drafts import draft_of, on_paper, read_palla
from dashboard.library import Library
from theory.clock import parse_clock
from theory.errors import LayakoshError
from theory.notation import parse
from theory.notation_print import to_text
from theory.numbers import matras, spoken

_OF_A_TIHAI = ("first", "second", "third", "landing", "palla", "dam", "start", "target", "rule", "played_by")


def count_tihai(library: Library, slug: str, typed: Mapping[str, str]) -> dict[str, Any]:
    """Tell what is known of a tihai that is being written: the palla's length, its bars, the sum, where it falls.

    Parameters
    ----------
    typed : mapping of str to str
        ``first``, ``second``, ``third``, ``landing``, ``palla``, ``dam``, ``start``, ``target``, ``rule``.
    """
    palla = typed.get("palla", "")
    if not palla.strip():
        return _told([])
    try:
        written = read_palla(palla)
        draft = draft_of(*[typed.get(name, "") for name in _OF_A_TIHAI])
        paper = on_paper(library.archive, slug, draft)
        if paper is None:
            dots = "Mark or write where it starts, and the dam, to see the sum."
            return _told([f"The palla has {matras(written.length)}. {dots}"])
        read_palla(palla, paper.tala, paper.start)  # its bars stand where vibhags begin
    except LayakoshError as error:
        return _told([str(error)], "wrong")
    barred = to_text(written, paper.tala, paper.start)
    lines = [f"The palla has {matras(written.length)}; from {spoken(paper.start)} in {paper.tala.name}: {barred}"]
    return _told([*lines, f"On paper: {paper.sum}. {paper.sentence}"], "right" if paper.lands else "wrong")


def count_phrase(library: Library, slug: str, typed: Mapping[str, str]) -> dict[str, Any]:
    """Tell how many matras are written, and how many were played meanwhile: of ``swaras``, ``from``, ``to``."""
    swaras = typed.get("swaras", "")
    if not swaras.strip():
        return _told([])
    try:
        written = parse(swaras)
        from_s, to_s = (parse_clock(typed[name]) if typed.get(name) else None for name in ("from", "to"))
        grid = library.archive.grid(slug).at(from_s) if from_s is not None else None
        line = f"Written: {matras(written.length)}."
        if grid is None or from_s is None or to_s is None or to_s <= from_s:
            return _told([line])
        _, matra = grid.position(from_s)
        start = (simple_fraction(matra, grid.matra_length_s(from_s)) - 1) % grid.tala.matras + 1
        played = float(grid.absolute(to_s) - grid.absolute(from_s))
        parse(swaras, grid.tala, start)
    except LayakoshError as error:
        return _told([str(error)], "wrong")
    barred = to_text(written, grid.tala, start)
    return _told([f"{line} Played: {played:.1f}, from matra {spoken(start)} of {grid.tala.name}: {barred}"])


def _told(lines: list[str], kind: str = "") -> dict[str, Any]:
    return {"lines": lines, "kind": kind}
