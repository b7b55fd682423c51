"""Sessions: the cookie that says who has logged in.

The cookie holds the person's name, when it was given and a number of its own, signed with a key that the archive keeps
(``access/key``), so that sessions outlive a restart and nobody can make one up. A session ends when the person logs out
(its number is then kept in ``access/ended.json`` until it would have ended by itself), when the password is changed,
when the person is removed, and after :data:`LIFETIME_S`. The role is not in it: it is looked up at every request.
"""

from __future__ import annotations

import contextlib
import hmac
import json
import secrets
import threading
import time
from dataclasses import dataclass

from itsdangerous import BadData, URLSafeTimedSerializer

from annotate.archive import Archive
from dashboard.access.at_hand import Person
from dashboard.access.people import Kept, People
from dashboard.access.private_files import access_folder, read_private, write_private
from dashboard.errors import BadPeopleFile

LIFETIME_S = 7 * 86400
"""How long one stays logged in: a week of evenings."""
_KEY_BYTES = 32


@dataclass(frozen=True)
class _Session:
    name: str
    stamp: str
    number: str


class Sessions:
    """The sessions of an archive; may be used from several threads.

    Raises
    ------
    BadPeopleFile
        The key is damaged or open to others.
    """

    def __init__(self, archive: Archive, people: People) -> None:
        folder = access_folder(archive)
        self._people = people
        self._ended_path = folder / "ended.json"
        key = _key(archive)
        self._signer = URLSafeTimedSerializer(key, salt="layakosh session")
        self._stamp_key = hmac.digest(key, b"layakosh stamp of a password", "sha256")
        self.cookie = f"layakosh-{hmac.digest(key, b'layakosh cookie', 'sha256').hex()[:8]}"
        """The cookie's name: another for each archive, since cookies do not tell the ports of a machine apart."""
        self._alone = threading.Lock()
        self._ended = _read_ended(read_private(self._ended_path))

    def begin(self, kept: Kept) -> str:
        """Return the cookie's value for a person who has just logged in."""
        session = {"name": kept.person.name, "stamp": self._stamp(kept), "number": secrets.token_hex(12)}
        return str(self._signer.dumps(session))

    def person(self, value: str) -> Person | None:
        """Return the person whose session this is; None where it is none, or has ended."""
        session = self._read(value)
        if session is None or session.number in self._ended:
            return None
        kept = self._people.find(session.name)
        if kept is None or not hmac.compare_digest(self._stamp(kept), session.stamp):
            return None
        return kept.person

    def end(self, value: str) -> None:
        """End a session: its cookie says nothing any more, whoever has a copy of it."""
        session = self._read(value)
        if session is None or self.person(value) is None:
            return
        now_s = time.time()
        with self._alone:
            ended = {number: until_s for number, until_s in self._ended.items() if until_s > now_s}
            ended[session.number] = now_s + LIFETIME_S
            self._ended = ended
            write_private(self._ended_path, json.dumps(ended).encode())

    def _read(self, value: str) -> _Session | None:
        try:
            told = self._signer.loads(value, max_age=LIFETIME_S)
            return _Session(str(told["name"]), str(told["stamp"]), str(told["number"]))
        except (BadData, LookupError, TypeError):
            return None

    def _stamp(self, kept: Kept) -> str:
        """A text that changes with the password and tells nothing of it."""
        return hmac.digest(self._stamp_key, kept.password.encode(), "sha256").hex()[:32]


def _key(archive: Archive) -> bytes:
    """Return the archive's key, made when it is first needed."""
    path = access_folder(archive) / "key"
    content = read_private(path)
    if content is None:
        with contextlib.suppress(FileExistsError):  # another server of the same archive was faster
            write_private(path, secrets.token_hex(_KEY_BYTES).encode(), new=True)
        content = read_private(path) or b""
    try:
        key = bytes.fromhex(content.decode("ascii"))
    except ValueError:
        key = b""
    if len(key) != _KEY_BYTES:
        raise BadPeopleFile(
            f"{path} is damaged: {2 * _KEY_BYTES} hexadecimal digits were expected. "
            "Remove it; everybody then has to log in again."
        )
    return key


def _read_ended(content: bytes | None) -> dict[str, float]:
    try:
        told = json.loads(content or b"{}")
        return {str(number): float(until_s) for number, until_s in told.items()}
    except (ValueError, TypeError, AttributeError):
        raise BadPeopleFile(
            "access/ended.json is damaged: the numbers of ended sessions were expected. Remove it together with "
            "access/key; everybody then has to log in again."
        ) from None
