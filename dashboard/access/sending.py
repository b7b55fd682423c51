"""Recordings that people send from the browser: taken piece by piece into the archive's workshop, and looked at there.

::

    <workshop>/unfinished/sent/
      <number>/              a number of ours; nothing in it is named by who sends it
        note.json            whose it is, the file's name for showing, its length
        sound                the bytes that have come; as many as the file is long

Conventions: lengths in bytes. Pieces come in order, each written at the end of what is there, so nothing is ever held
in memory as a whole, and sending goes on after a broken line or a restart where it was. What nobody goes on with for a
day is swept away.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from annotate.errors import CannotWrite
from annotate.files import make_folders, replace, sync_folder
from dashboard.access.at_hand import Person
from dashboard.access.guarded import refuse_reader
from dashboard.access.names import shown_file_name
from dashboard.access.sound_kinds import Sent, look_at
from dashboard.errors import SendingRefused

AT_ONCE = 24
"""How many files one person may have on the way or waiting to be taken in: the stems and sides of an evening."""
LONGEST_PIECE = 8 << 20
KEPT_FREE = 1_000_000_000
"""So much of the disk stays free, for taking in and for everybody's edits."""
AGE_S = 86400.0
_NUMBER = re.compile(r"[0-9a-f]{32}")
_BLOCK = 1 << 18


@dataclass(frozen=True)
class Sending:
    """A recording on its way."""

    number: str
    by: str
    shown: str
    size: int
    folder: Path

    @property
    def sound(self) -> Path:
        """The file that its bytes are in."""
        return self.folder / "sound"

    @property
    def received(self) -> int:
        """How many bytes have come; none where somebody has removed the file."""
        return self.sound.stat().st_size if self.sound.exists() else 0


class Sendings:
    """All recordings on their way into an archive; may be used from several threads.

    Parameters
    ----------
    workshop : Path
        See :attr:`annotate.archive.Archive.workshop`.
    largest : int
        Of a recording, in bytes.
    """

    def __init__(self, workshop: Path, largest: int) -> None:
        self._home = workshop / "unfinished" / "sent"
        self._largest = largest
        self._alone = threading.Lock()
        self._held: set[str] = set()
        self._looked: dict[str, Sent] = {}
        self._known = {sending.number: sending for sending in _left(self._home)}

    def begin(self, person: Person, name: str, size: int) -> Sending:
        """Make room for a recording.

        Parameters
        ----------
        person : Person
            Who sends it.
        name : str
            The file's name, for showing.
        size : int
            Its length in bytes.

        Raises
        ------
        SendingRefused
            It is too large, the disk too full, or the person is sending as many as one may.
        MayNotEdit
            The person is a reader.
        """
        refuse_reader(person)
        shown = shown_file_name(name)
        if size <= 0:
            raise SendingRefused(f"{shown} is empty.", 400)
        if size > self._largest:
            raise SendingRefused(
                f"{shown} has {_spoken(size)}, and no more than {_spoken(self._largest)} may be sent to this "
                "dashboard. Send it as FLAC or Opus, or in parts; or have it taken in by 'layakosh ingest'.",
                413,
            )
        with self._alone:
            self._sweep()
            if sum(each.by == person.name for each in self._known.values()) >= AT_ONCE:
                raise SendingRefused(f"{AT_ONCE} recordings of yours are on their way already. Wait for one.", 429)
            number = secrets.token_hex(16)
            sending = Sending(number, person.name, shown, size, self._home / number)
            try:
                self._refuse_full(size, shown)
                make_folders(sending.folder)
                sending.sound.touch(mode=0o600)
                note = {"by": sending.by, "shown": sending.shown, "size": sending.size}
                replace(sending.folder / "note.json", json.dumps(note, ensure_ascii=False).encode())
            except OSError as error:
                shutil.rmtree(sending.folder, ignore_errors=True)
                raise CannotWrite(shown, error) from error
            self._known[number] = sending
        return sending

    def find(self, person: Person, number: str) -> Sending:
        """Return a recording on its way; others' are as good as not there.

        Raises
        ------
        SendingRefused
            There is none of that number, or it is somebody else's.
        MayNotEdit
            The person is a reader.
        """
        refuse_reader(person)
        sending = self._known.get(number)
        if sending is None or sending.by != person.name:
            raise SendingRefused("Nothing of yours is on its way under that number. Begin sending it anew.", 404)
        return sending

    def add(self, person: Person, number: str, at: int, piece: IO[bytes], length: int) -> int:
        """Add the next piece.

        Parameters
        ----------
        at : int
            Where it begins in the file; it must be where the last one ended.
        piece : binary file
            Read to ``length`` bytes.

        Returns
        -------
        int
            How many bytes have come.

        Raises
        ------
        SendingRefused
            It is not the next piece, it is too long, or it broke off. What came before is kept.
        """
        if not 0 < length <= LONGEST_PIECE:
            raise SendingRefused(
                f"A piece of 1 to {LONGEST_PIECE} bytes was expected, not {length}. Send the file in pieces.", 413
            )
        with self._holding(self.find(person, number)) as sending:
            received = sending.received
            if at != received or at + length > sending.size:
                raise SendingRefused(
                    f"The piece from byte {received} was expected (of {sending.size}), and one of {length} from byte "
                    f"{at} came. Go on from {received}.",
                    409,
                )
            try:
                with sending.sound.open("r+b") as file:
                    file.seek(received)
                    if not _copied(piece, file, length):
                        file.truncate(received)
                        raise SendingRefused("The piece broke off. Send it again.", 400)
            except OSError as error:
                raise CannotWrite(sending.shown, error) from error
            return received + length

    def look(self, person: Person, number: str) -> Sent:
        """Look at a recording that has come as a whole, and keep it if it is sound.

        Raises
        ------
        SendingRefused
            It is not whole yet; or it is no sound, and is removed.
        """
        with self._holding(self.find(person, number)) as sending:
            if sending.received != sending.size:
                raise SendingRefused(
                    f"{sending.received} of {sending.size} bytes of {sending.shown} have come. Send the rest first.",
                    409,
                )
            try:
                if number not in self._looked:
                    _sync(sending.sound)
                    self._looked[number] = look_at(sending.sound, sending.shown)
                return self._looked[number]
            except SendingRefused:
                self._remove(sending)
                raise

    def drop(self, person: Person, number: str) -> None:
        """Remove a recording: it is not wanted, or it has been taken in.

        Raises
        ------
        SendingRefused
            There is none of that number.
        """
        with self._holding(self.find(person, number)) as sending:
            self._remove(sending)

    @contextmanager
    def _holding(self, sending: Sending) -> Iterator[Sending]:
        """Be the only one who is at a recording."""
        with self._alone:
            if sending.number in self._held or sending.number not in self._known:
                raise SendingRefused(f"{sending.shown} is being sent in another window. Wait for it.", 409)
            self._held.add(sending.number)
        try:
            yield sending
        finally:
            with self._alone:
                self._held.discard(sending.number)

    def _remove(self, sending: Sending) -> None:
        self._known.pop(sending.number, None)
        self._looked.pop(sending.number, None)
        shutil.rmtree(sending.folder, ignore_errors=True)

    def _sweep(self) -> None:
        for sending in [each for each in self._known.values() if each.number not in self._held]:
            if not sending.sound.exists() or time.time() - sending.sound.stat().st_mtime > AGE_S:
                self._remove(sending)

    def _refuse_full(self, size: int, shown: str) -> None:
        make_folders(self._home)
        promised = sum(each.size - each.received for each in self._known.values())
        room = shutil.disk_usage(self._home).free - promised - KEPT_FREE
        if size > room:
            raise SendingRefused(
                f"There is no room for {shown} on the archive's disk: it has {_spoken(size)}, and "
                f"{_spoken(max(room, 0))} may be filled. Whoever keeps the archive can make room.",
                507,
            )


def _left(home: Path) -> Iterator[Sending]:
    """What an earlier server has left; what is not noted and old is removed."""
    if not home.is_dir():
        return
    for folder in home.iterdir():
        if _NUMBER.fullmatch(folder.name) is None:
            continue
        try:
            note = json.loads((folder / "note.json").read_text("utf-8"))
            sending = Sending(folder.name, str(note["by"]), str(note["shown"]), int(note["size"]), folder)
            sending.sound.stat()
        except (OSError, ValueError, LookupError, TypeError):
            if time.time() - folder.stat().st_mtime > AGE_S:
                shutil.rmtree(folder, ignore_errors=True)
            continue
        yield sending


def _copied(piece: IO[bytes], file: IO[bytes], length: int) -> bool:
    while length > 0:
        block = piece.read(min(_BLOCK, length))
        if not block:
            return False
        file.write(block)
        length -= len(block)
    return True


def _sync(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())
    sync_folder(path.parent)


def _spoken(size: int) -> str:
    return f"{size / 1e9:.1f} GB" if size >= 1e9 else f"{size / 1e6:.1f} MB"
