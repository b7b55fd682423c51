"""The people who may log in, kept in ``access/people.json`` of the archive (see :mod:`dashboard.access.private_files`).

A person is a name, a role and what is kept of the password (:mod:`dashboard.access.passwords`). The file is read again
whenever it has changed, so what the command line does is so at the next request.
"""

from __future__ import annotations

import difflib
import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from annotate.archive import Archive
from dashboard.access.at_hand import Person, Role
from dashboard.access.names import person_name, same_name
from dashboard.access.passwords import is_right, kept
from dashboard.access.private_files import access_folder, read_private, write_private
from dashboard.errors import BadPeopleFile, BadPerson, NoSuchPerson

VERSION = 1
"""Of the file."""


@dataclass(frozen=True)
class Kept:
    """A person with what is kept of the password."""

    person: Person
    password: str


class People:
    """The people of an archive. One object serves all threads: what is known is a value, replaced whole."""

    def __init__(self, archive: Archive) -> None:
        self.path = access_folder(archive) / "people.json"
        self._known: tuple[object, tuple[Kept, ...]] = (None, ())

    def all(self) -> tuple[Kept, ...]:
        """Return everybody, in the order in which they were added.

        Raises
        ------
        BadPeopleFile
            The file is damaged or open to others.
        """
        stamp = _stamp(self.path)
        if self._known[0] != stamp or stamp is None:
            self._known = (stamp, _read(self.path))
        return self._known[1]

    def find(self, name: str) -> Kept | None:
        """Return the person of a name, however it is spelt; None where there is none."""
        wanted = same_name(name)
        return next((each for each in self.all() if same_name(each.person.name) == wanted), None)

    def who_logs_in(self, name: str, password: str) -> Kept | None:
        """Return the person whose name and password these are; None, after as long a time, where they are nobody's."""
        found = self.find(name)
        return found if is_right(password, found.password if found is not None else None) else None

    def add(self, name: str, role: Role, password: str) -> Person:
        """Add a person.

        Raises
        ------
        BadPerson
            The name is taken, or name or password cannot be.
        """
        person = Person(person_name(name), role)
        self.refuse_taken(person.name)
        new = Kept(person, kept(password, person.name))

        def added(people: tuple[Kept, ...]) -> tuple[Kept, ...]:
            self.refuse_taken(person.name)
            return (*people, new)

        self._change(added)
        return person

    def set_role(self, name: str, role: Role) -> Person:
        """Give a person another role; it counts from the next request on.

        Raises
        ------
        NoSuchPerson
        """
        return self._replace(name, lambda each: replace(each, person=replace(each.person, role=role)))

    def set_password(self, name: str, password: str) -> Person:
        """Give a person another password, which ends the sessions begun with the old one.

        Raises
        ------
        NoSuchPerson, BadPerson
        """
        new = kept(password, self.known(name).name)
        return self._replace(name, lambda each: replace(each, password=new))

    def remove(self, name: str) -> Person:
        """Remove a person, whose sessions end with it.

        Raises
        ------
        NoSuchPerson
        """
        person = self.known(name)
        self._change(lambda people: tuple(each for each in people if each.person.name != person.name))
        return person

    def known(self, name: str) -> Person:
        """Return the person of a name.

        Raises
        ------
        NoSuchPerson
            With the nearest names.
        """
        found = self.find(name)
        if found is None:
            names = [each.person.name for each in self.all()]
            near = difflib.get_close_matches(name, names, n=3, cutoff=0.5) or names[:3]
            there = f"Did you mean {' or '.join(map(repr, near))}?" if near else "Nobody is there yet."
            raise NoSuchPerson(f"Nobody of the name {name[:60]!r} may log in. {there}")
        return found.person

    def refuse_taken(self, name: str) -> None:
        """Refuse a name that somebody has.

        Raises
        ------
        BadPerson
        """
        found = self.find(name)
        if found is not None:
            raise BadPerson(f"{found.person.name!r} is there already. Choose another name.")

    def _replace(self, name: str, changed: Callable[[Kept], Kept]) -> Person:
        person = self.known(name)
        self._change(lambda people: tuple(changed(each) if each.person == person else each for each in people))
        return self.known(name)

    def _change(self, change: Callable[[tuple[Kept, ...]], tuple[Kept, ...]]) -> None:
        """Change the file, alone: two who change it at once do it one after the other."""
        from filelock import FileLock

        self.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with FileLock(self.path.parent / "lock", mode=0o600):
            people = change(_read(self.path))
            told = {
                "version": VERSION,
                "people": [
                    {"name": each.person.name, "role": each.person.role, "password": each.password} for each in people
                ],
            }
            write_private(self.path, json.dumps(told, ensure_ascii=False, indent=1).encode())


def _read(path: Path) -> tuple[Kept, ...]:
    content = read_private(path)
    if content is None:
        return ()
    try:
        told: Any = json.loads(content)
        if int(told["version"]) > VERSION:
            raise BadPeopleFile(f"{path} was written by a newer version of Layakosh. Serve with that version.")
        return tuple(
            Kept(Person(str(each["name"]), Role(each["role"])), str(each["password"])) for each in told["people"]
        )
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
        raise BadPeopleFile(
            f"{path} is damaged: JSON with the people's names and roles was expected. "
            "Put it back from a copy, or move it away and add the people again with 'layakosh people add'."
        ) from None


def _stamp(path: Path) -> object:
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size, status.st_ino, status.st_mode
