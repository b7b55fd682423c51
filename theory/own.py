"""A user's own talas and ragas: one TOML file, checked by the same rules as the shipped tables.

Conventions: the file holds ``[[tala]]`` and ``[[raga]]`` rows with the fields of ``data/talas.toml`` and
``data/ragas.toml``; the source is any text. A row may have variants; a row whose key is ``teental/my-teacher`` is a
variant of the shipped teental and says only what differs. The variable ``LAYAKOSH_OWN`` names the file, and from then
on its rows are found like all others (see :mod:`theory.catalogue`). ::

    [[tala]]
    key = "five"
    name = "Five"
    matras = 5
    vibhags = [2, 3]
    marks = "X@1 2@3"
    theka = "Dhi Na | Dhi Dhi Na"
    source = "my teacher"
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from theory.catalogue import Entry, Read, shipped, with_own
from theory.ragas import Raga, read_raga
from theory.talas import Tala, read_tala


@dataclass(frozen=True, slots=True)
class Own:
    """What a user's file holds: talas and ragas in its order, variants among them."""

    talas: tuple[Tala, ...]
    ragas: tuple[Raga, ...]


def load_own(path: Path | str) -> Own:
    """Read and check a user's own file, without making its rows known to the look-up.

    Parameters
    ----------
    path : path
        A TOML file.

    Raises
    ------
    BadData
        When the file cannot be read or a row is wrong; names file, row and field.
    """
    return Own(_added("tala", read_tala, Path(path)), _added("raga", read_raga, Path(path)))


def _added(kind: str, read: Read[Entry], path: Path) -> tuple[Entry, ...]:
    before = shipped(kind, read)
    after = with_own(before, read, path)
    variants = (each for key, known in after.variants.items() for each in known[len(before.variants.get(key, ())) :])
    return (*after.entries[len(before.entries) :], *variants)
