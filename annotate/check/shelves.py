"""Compositions and courses: files that are damaged, or that cannot be used here, and what stands among them."""

from __future__ import annotations

from collections.abc import Iterator

from annotate.archive import Archive
from annotate.check.findings import Finding
from annotate.check.places import foreign
from annotate.compositions.shelf import Shelf
from annotate.courses.shelf import Courses
from annotate.shelves.errors import DamagedThing
from annotate.store.base import Store


def findings_of(store: Store) -> Iterator[Finding]:
    """Give what is found of the compositions and courses of a store."""
    for kind in (Shelf, Courses):
        shelf = kind(Archive(store))
        word = shelf.sort.word
        for name, why in shelf.unread():
            if isinstance(why, DamagedThing):
                means = f"A revision of a {word} cannot be read: {why}. The one before it counts, where there is one."
                yield Finding(f"{word} damaged", name, means, "It is set aside.", ("set aside", name))
            else:
                means = f"A {word} cannot be shown here: {str(why).splitlines()[0]}"
                yield Finding(f"{word} unread", name, means, f"Left as it is: {shelf.sort.mend}", damage=False)
        yield from foreign(store.walk(shelf.sort.folder))
