"""Pieces for the tests of sheets: of the small archive in ``tests/annotate/desk.py``, written as a test wishes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from annotate.archive import Archive
from annotate.practice.pieces import Piece, piece
from annotate.revisions import add
from tests.annotate.desk import SLUG, at, phrase, tihai
from theory.notation import parse
from theory.talas import get_tala


def with_pieces(archive: Archive) -> Archive:
    """Write two tihais and three phrases into the small archive, in swaras and bols."""
    rows = [
        tihai("t01", cycle=2, label="Damdar of 5 and 1"),
        tihai("t02", cycle=4, palla="TiRaKiTa DhaTiTe Dha", dam=Fraction(0), start=Fraction(9), dev_s=0.02),
        phrase("p01", at(3, 12), at(4, 1), "R m P N S'"),
        phrase("p02", 2.0, 5.0, "S R g"),
        phrase("p03", at(5, 1), at(6, 1), "RmPN S'nDP mGRG S.NSR " * 4),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "test", "written")
    return archive


def tihai_piece(
    archive: Archive, palla: str, dam: Fraction | int, *, tala: str = "teental", **changes: object
) -> Piece:
    """Return the tihai t01 with another palla and dam, in a tala, from a start."""
    base = piece(archive, f"{SLUG}/t01")
    assert base.tihai is not None
    start = Fraction(changes.pop("start", 1))  # type: ignore[arg-type]
    record = replace(base.tihai, palla=palla, dam=Fraction(dam), start=start, tala=tala, **changes)  # type: ignore[arg-type]
    script = "bols" if parse(palla).system == "bols" else "sargam"
    return replace(base, tihai=record, tala=get_tala(tala), start=start, script=script)  # type: ignore[arg-type]
