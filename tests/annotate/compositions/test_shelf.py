"""Compositions: kept as files that are never changed, found again, changed, taken out and put back; damage is named."""

from __future__ import annotations

import contextlib
import threading
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.backup.contents import choose
from annotate.check.repairing import repair
from annotate.check.whole import check
from annotate.compositions.composition import Composition
from annotate.compositions.shelf import SORT, Shelf
from annotate.records import EPOCH
from annotate.shelves.errors import BadThing, DamagedThing, NoSuchThing, ThingChanged
from annotate.shelves.kept import Revision
from annotate.shelves.written import from_toml, to_toml
from tests.theory.strategies import bol_passages, matra_of, not_negative, talas
from theory.notation_print import to_text
from theory.tihai import LandingRule

FIVES = Composition("Fives", "teental", "Dha Ti Ta Ka Dha", dam=Fraction(1), notes="for the end of the gat")


@pytest.fixture
def shelf(archive: Archive) -> Shelf:
    return Shelf(archive)


def test_what_is_kept_is_found_by_another_program_and_after_opening_again(shelf: Shelf) -> None:
    kept = shelf.keep(FIVES, who="asha")
    again = Shelf(Archive.open(shelf.archive.path)).get(kept.key)
    assert (again.content, again.latest.who) == (FIVES, "asha")
    text = (shelf.archive.path / "compositions" / "fives" / "00000001.toml").read_text(encoding="utf-8")
    assert 'palla = "Dha Ti Ta Ka Dha"' in text
    assert again.content.piece.paper.sum == "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1"


def test_two_of_the_same_name_are_two(shelf: Shelf) -> None:
    assert [shelf.keep(FIVES, who="").key for _ in range(3)] == ["fives", "fives-2", "fives-3"]
    assert len(shelf.all()) == 3


def test_a_change_leaves_what_was_and_a_change_on_top_of_an_older_one_is_refused(shelf: Shelf) -> None:
    kept = shelf.keep(FIVES, who="asha")
    slower = replace(FIVES, per_minute=80)
    changed = shelf.change(kept.key, slower, seen=1, who="bina", why="slower")
    assert [each.content.per_minute for each in changed.revisions] == [120, 80]
    with pytest.raises(ThingChanged, match="was slower by bina"):
        shelf.change(kept.key, replace(FIVES, notes="other"), seen=1, who="asha")
    assert shelf.get(kept.key).latest.number == 2


def test_taken_out_it_is_gone_from_the_list_and_can_be_put_back(shelf: Shelf) -> None:
    kept = shelf.keep(FIVES, who="")
    shelf.withdraw(kept.key, seen=1, who="")
    assert shelf.all() == []
    assert [each.key for each in shelf.all(withdrawn=True)] == ["fives"]
    shelf.put_back(kept.key, who="")
    assert [each.latest.number for each in shelf.all()] == [3]
    assert shelf.keep(FIVES, who="").key == "fives-2"


def test_many_who_keep_the_same_at_once_each_get_their_own(shelf: Shelf) -> None:
    keys: list[str] = []
    threads = [
        threading.Thread(target=lambda: keys.append(Shelf(shelf.archive).keep(FIVES, who="").key)) for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(keys)) == len(keys) == 8
    assert len(shelf.all()) == 8


def test_an_unknown_key_is_told_with_the_nearest(shelf: Shelf) -> None:
    shelf.keep(FIVES, who="")
    with pytest.raises(NoSuchThing, match="Did you mean fives"):
        shelf.get("fivs")
    for odd in ("../archive", "a/b", ""):
        with pytest.raises(NoSuchThing):
            shelf.get(odd)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": "  "}, "no name"),
        ({"name": "x" * 200}, "at most 120"),
        ({"notes": "a\x00b"}, "U\\+0000"),
        ({"start": Fraction(17)}, "outside Teental"),
        ({"palla": ""}, "no stroke"),
        ({"palla": "S Dhin"}, "Dhin"),
        ({"tala": "fifteental"}, "No tala"),
        ({"dam": Fraction(-1)}, "cannot be negative"),
        ({"bol": "Ti"}, "gap between rounds"),
        ({"per_minute": 5}, "10 to 600"),
        ({"sa_hz": 9000.0}, "50 to 1000"),
        ({"palla": "Dha:999"}, "at most 2048"),
    ],
)
def test_what_nobody_could_play_is_refused_in_words(changes: dict[str, object], said: str) -> None:
    with pytest.raises(BadThing, match=said):
        replace(FIVES, **changes)  # type: ignore[arg-type]


@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_every_composition_reads_back_as_it_was_written(data: st.DataObject) -> None:
    tala = data.draw(talas)
    words = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=40)
    composition = Composition(
        name="n" + data.draw(words),
        notes=data.draw(words) + "\n" + data.draw(words),
        tala=tala.key,
        palla=to_text(data.draw(bol_passages())),
        start=data.draw(matra_of(tala)),
        target=data.draw(matra_of(tala)),
        rule=data.draw(st.sampled_from(LandingRule)),
        dam=data.draw(not_negative),
        round_dam=data.draw(st.none() | not_negative),
        per_minute=data.draw(st.integers(10, 600)),
        sa_hz=data.draw(st.floats(50, 1000)),
    )
    revision = Revision(3, 'a "b" \\c', EPOCH, "why", composition, withdrawn=data.draw(st.booleans()))
    assert from_toml(SORT, to_toml(SORT, revision)) == revision


@given(place=st.integers(0, 600), byte=st.integers(0, 255))
@settings(max_examples=150, deadline=None)
def test_a_changed_byte_never_ends_in_anything_but_a_message(place: int, byte: int) -> None:
    content = bytearray(to_toml(SORT, Revision(1, "asha", EPOCH, "kept", FIVES)))
    content[place % len(content)] = byte
    with contextlib.suppress(BadThing):
        assert isinstance(from_toml(SORT, bytes(content)), Revision)


def test_a_damaged_revision_is_named_by_check_the_one_before_counts_and_repair_sets_it_aside(shelf: Shelf) -> None:
    kept = shelf.keep(FIVES, who="")
    shelf.change(kept.key, replace(FIVES, notes="later"), seen=1, who="")
    path = shelf.archive.path / "compositions" / "fives" / "00000002.toml"
    path.write_bytes(b"\xff not text")
    fresh = Shelf(Archive.open(shelf.archive.path))
    assert fresh.get("fives").content == FIVES
    assert isinstance(fresh.unread()[0][1], DamagedThing)
    found = [each for each in check(shelf.archive.store) if each.kind == "composition damaged"]
    assert [each.where for each in found] == ["compositions/fives/00000002.toml"]
    assert "moved to set-aside" in repair(shelf.archive.store, found)[0]
    assert not [each for each in check(shelf.archive.store) if "composition" in each.kind]


def test_after_a_lost_revision_the_next_change_takes_a_new_number(shelf: Shelf) -> None:
    kept = shelf.keep(FIVES, who="")
    (shelf.archive.path / "compositions" / "fives" / "00000002.toml").write_bytes(b"damaged")
    changed = Shelf(shelf.archive).change(kept.key, replace(FIVES, notes="later"), seen=1, who="")
    assert changed.latest.number == 3
    assert Shelf(shelf.archive).get("fives").content.notes == "later"


def test_a_composition_in_a_tala_that_is_not_known_here_is_left_where_it_is(shelf: Shelf) -> None:
    shelf.keep(FIVES, who="")
    path = shelf.archive.path / "compositions" / "fives" / "00000001.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("teental", "my-own-tala"), encoding="utf-8")
    found = [each for each in check(shelf.archive.store) if "composition" in each.kind]
    assert [(each.kind, each.damage, each.job) for each in found] == [("composition unread", False, None)]
    assert Shelf(shelf.archive).all() == []


def test_a_backup_holds_compositions_and_check_calls_only_strangers_foreign(shelf: Shelf, tmp_path: Path) -> None:
    shelf.keep(FIVES, who="")
    (shelf.archive.path / "compositions" / "mine.txt").write_text("hello", encoding="utf-8")
    names = [entry.name for entry in choose(shelf.archive.store, sound=True, evidence=False).entries]
    assert "compositions/fives/00000001.toml" in names
    foreign = [each.where for each in check(shelf.archive.store) if each.kind == "foreign file"]
    assert foreign == ["compositions/mine.txt"]
