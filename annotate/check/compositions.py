"""Compositions: files that are damaged, or that cannot be played here, and what stands among them and is none."""

from __future__ import annotations

from collections.abc import Iterator

from annotate.archive import Archive
from annotate.check.findings import Finding
from annotate.check.places import foreign
from annotate.compositions.errors import DamagedComposition
from annotate.compositions.shelf import FOLDER, Shelf
from annotate.store.base import Store


def findings_of(store: Store) -> Iterator[Finding]:
    """Give what is found of the compositions of a store."""
    for name, why in Shelf(Archive(store)).unread():
        if isinstance(why, DamagedComposition):
            means = f"A revision of a composition cannot be read: {why}. The one before it counts, where there is one."
            yield Finding("composition damaged", name, means, "It is set aside.", ("set aside", name))
        else:
            means = f"A composition cannot be shown here: {str(why).splitlines()[0]}"
            mend = "Left as it is: a tala of your own belongs into the file of talas on this machine."
            yield Finding("composition unread", name, means, mend, damage=False)
    yield from foreign(store.walk(FOLDER))
