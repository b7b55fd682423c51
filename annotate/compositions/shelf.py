"""All compositions of an archive, in ``compositions/<key>/``."""

from __future__ import annotations

from typing import TypeAlias

from annotate.archive import Archive
from annotate.compositions.composition import Composition
from annotate.compositions.written import from_table, to_table
from annotate.shelves import kept, shelf

SORT = kept.Sort(
    word="composition",
    folder="compositions",
    lists="layakosh compositions",
    mend="a tala of your own belongs into the file of talas on this machine.",
    largest=64 << 10,
    name_of=lambda composition: composition.name,
    to_table=to_table,
    from_table=from_table,
)
Kept: TypeAlias = kept.Kept[Composition]


class Shelf(shelf.Shelf[Composition]):
    """The compositions of an archive."""

    def __init__(self, archive: Archive) -> None:
        super().__init__(archive, SORT)
