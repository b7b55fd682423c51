"""The file of people: private, never with a password in it, read again when it has changed."""

from __future__ import annotations

import json
import os
import stat
import threading
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.backup.contents import choose
from annotate.layout import named
from annotate.store.disk import DiskStore
from dashboard.access.at_hand import Role
from dashboard.access.people import People
from dashboard.errors import BadPeopleFile, BadPerson, NoSuchPerson
from tests.dashboard.access.conftest import ANNOTATOR, PASSWORDS, READER


@pytest.fixture
def kept(shared: Path) -> People:
    return People(Archive.open(shared))


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX's")
def test_the_file_is_the_owners_alone_and_holds_no_password(people: People) -> None:
    people.add("Asha", Role.READER, "seven blue lamps")
    assert mode(people.path) == 0o600
    assert mode(people.path.parent) == 0o700
    assert "lamps" not in people.path.read_text()


def test_people_are_found_however_they_spell_their_name(kept: People) -> None:
    found = kept.find("  obeyan RUKHDAL")
    assert found is not None
    assert (found.person.name, found.person.role) == (READER, Role.READER)
    assert kept.find("Obeyan") is None


def test_name_and_password_are_asked_for_together(kept: People) -> None:
    found = kept.who_logs_in(READER, PASSWORDS[READER])
    assert found is not None
    assert found.person.name == READER
    assert kept.who_logs_in(READER, PASSWORDS[ANNOTATOR]) is None
    assert kept.who_logs_in("Nobody", PASSWORDS[READER]) is None


def test_a_name_that_is_taken_in_another_spelling_is_refused(kept: People) -> None:
    with pytest.raises(BadPerson, match="there already"):
        kept.add("OBEYAN  rukhdal", Role.READER, "seven blue lamps")


def test_a_mistyped_name_is_told_with_the_nearest(kept: People) -> None:
    with pytest.raises(NoSuchPerson, match=READER):
        kept.set_role("Obeyan Rukhdl", Role.READER)
    assert kept.known(READER).role is Role.READER


def test_what_another_process_changes_is_so_at_once(kept: People, shared: Path) -> None:
    kept.all()
    People(Archive.open(shared)).set_role(READER, Role.ANNOTATOR)
    assert kept.known(READER).may_edit
    People(Archive.open(shared)).remove(READER)
    assert kept.find(READER) is None


def test_two_who_add_at_once_are_both_there(people: People) -> None:
    names = [f"Listener {number}" for number in range(4)]
    threads = [threading.Thread(target=people.add, args=(name, Role.READER, "seven blue lamps")) for name in names]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(each.person.name for each in people.all()) == names


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX's")
def test_a_file_that_others_may_read_is_refused_with_the_mend(kept: People) -> None:
    kept.path.chmod(0o644)
    with pytest.raises(BadPeopleFile, match="chmod 600"):
        kept.all()


@pytest.mark.parametrize("content", ["", "{", "[]", '{"version": 1}', '{"version": 1, "people": [{"name": "A"}]}'])
def test_a_damaged_file_lets_nobody_in_and_is_left_as_it_is(kept: People, content: str) -> None:
    kept.path.write_text(content)
    kept.path.chmod(0o600)
    with pytest.raises(BadPeopleFile, match="damaged"):
        kept.all()
    with pytest.raises(BadPeopleFile):
        kept.add("Asha", Role.READER, "seven blue lamps")
    assert kept.path.read_text() == content


def test_a_file_of_a_newer_version_is_not_guessed_at(kept: People) -> None:
    told = json.loads(kept.path.read_text()) | {"version": 2}
    kept.path.write_text(json.dumps(told))
    with pytest.raises(BadPeopleFile, match="newer version"):
        kept.all()


def test_neither_people_nor_key_go_into_a_backup(kept: People, shared: Path) -> None:
    assert named("access/people.json").kind == "access"
    choice = choose(DiskStore(shared), sound=True, evidence=True)
    assert not [entry.name for entry in choice.entries if entry.name.startswith("access")]
    assert not [name for name in choice.foreign if name.startswith("access")]
