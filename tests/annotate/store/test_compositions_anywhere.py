"""Compositions on a disk and in an object store: kept, changed by two at once, checked, by the same code."""

from __future__ import annotations

from dataclasses import replace

import pytest

from annotate.archive import Archive
from annotate.backup.contents import choose
from annotate.check.whole import check
from annotate.compositions.composition import Composition
from annotate.compositions.shelf import Shelf
from annotate.shelves.errors import ThingChanged

FIVES = Composition("Fives", "teental", "Dha Ti Ta Ka Dha")


def test_compositions_are_kept_and_of_two_changes_at_once_one_is_refused(place: str) -> None:
    mine, theirs = Shelf(Archive.create(place)), Shelf(Archive.create(place))
    assert [mine.keep(FIVES, who="asha").key, theirs.keep(FIVES, who="bina").key] == ["fives", "fives-2"]
    mine.change("fives", replace(FIVES, notes="mine"), seen=1, who="asha")
    with pytest.raises(ThingChanged, match="by asha"):
        theirs.change("fives", replace(FIVES, notes="theirs"), seen=1, who="bina")
    mine.withdraw("fives-2", seen=1, who="asha")
    assert [(each.key, each.content.notes) for each in theirs.all()] == [("fives", "mine")]
    store = Archive.open(place).store
    assert (
        sum(entry.name.startswith("compositions/") for entry in choose(store, sound=True, evidence=False).entries) == 4
    )
    assert not [each for each in check(store) if "composition" in each.where]
