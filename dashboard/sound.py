"""Serving a recording's sound in ranges.

Aim
    A browser's player asks for ``Range: bytes=0-`` and then leaves the answer half read while it is paused. Answered
    with the whole file, each paused player would hold a server thread. So no range answer is longer than
    :data:`LONGEST_ANSWER`; the player asks again for the next piece.

Conventions
    Offsets are bytes from the start of the file; the last byte of a range is included, as HTTP counts.
    A request names a recording by its slug only: the archive turns the slug into a file, and a slug that the archive
    does not list is answered with 404, so no text from a request is ever used as a path.

References
    R. Fielding, M. Nottingham, J. Reschke (eds.), "HTTP Semantics", RFC 9110 (2022), sections 13 and 14.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import flask

LONGEST_ANSWER = 1 << 20
"""Longest answer to a range request, in bytes (1 MiB)."""

_BLOCK = 1 << 16
_RANGE = re.compile(r"bytes=(\d*)-(\d*)")
_CONTENT_TYPES = {
    ".flac": "audio/flac",
    ".m4a": "audio/mp4",
    ".mp3": "audio/mpeg",
    ".mp4": "audio/mp4",
    ".oga": "audio/ogg",
    ".ogg": "audio/ogg",
    ".opus": "audio/ogg",
    ".wav": "audio/wav",
}


class NotSatisfiableError(Exception):
    """The range asked for lies outside the file."""


@dataclass(frozen=True)
class ByteRange:
    """A piece of a file: ``first`` to ``last`` byte, both included."""

    first: int
    last: int

    @property
    def length(self) -> int:
        """Number of bytes."""
        return self.last - self.first + 1


def parse_range(header: str, size: int, longest: int = LONGEST_ANSWER) -> ByteRange | None:
    """Read a ``Range`` header.

    Parameters
    ----------
    header : str
        The header's value, e.g. ``"bytes=0-"`` or ``"bytes=-500"``.
    size : int
        Length of the file in bytes.
    longest : int
        The answer is cut to this many bytes.

    Returns
    -------
    ByteRange or None
        None when the header is to be ignored (another unit, several ranges, nonsense): RFC 9110, 14.2.

    Raises
    ------
    NotSatisfiableError
        When no byte of the range exists.
    """
    match = _RANGE.fullmatch(header.strip())
    if match is None or match.groups() == ("", ""):
        return None
    first_text, last_text = match.groups()
    if first_text == "":
        wanted = min(int(last_text), size)
        first, last = size - wanted, size - 1
    else:
        first, last = int(first_text), int(last_text) if last_text else size - 1
        if last_text and last < first:
            return None
    last = min(last, size - 1)
    if first > last:
        raise NotSatisfiableError
    return ByteRange(first, min(last, first + longest - 1))


def send_sound(path: Path, request: flask.Request) -> flask.Response:
    """Answer a request for a sound file: 200, 206, 304 or 416.

    Parameters
    ----------
    path : Path
        An existing file.
    request : flask.Request
        Its headers Range, If-Range, If-None-Match and If-Modified-Since are read.
    """
    stat = path.stat()
    etag = f"{stat.st_size:x}-{stat.st_mtime_ns:x}"
    modified = datetime.fromtimestamp(int(stat.st_mtime), UTC)
    response = flask.Response(mimetype=_CONTENT_TYPES.get(path.suffix.lower(), "application/octet-stream"))
    response.set_etag(etag)
    response.last_modified = modified
    response.headers["Accept-Ranges"] = "bytes"
    response.headers["Cache-Control"] = "private, no-cache"

    piece: ByteRange | None = None
    if "Range" in request.headers and _still_the_same(request, etag, modified):
        try:
            piece = parse_range(request.headers["Range"], stat.st_size)
        except NotSatisfiableError:
            response.status_code = 416
            response.headers["Content-Range"] = f"bytes */{stat.st_size}"
            response.content_length = 0
            return response
    if piece is None:
        response.content_length = stat.st_size
        response.response = _blocks(path, ByteRange(0, stat.st_size - 1))
        response.make_conditional(request)
        return response
    response.status_code = 206
    response.headers["Content-Range"] = f"bytes {piece.first}-{piece.last}/{stat.st_size}"
    response.content_length = piece.length
    response.response = _blocks(path, piece)
    return response


def sound_routes(sound_path: Callable[[str], Path | None]) -> flask.Blueprint:
    """Make the route ``/sound/<slug>``.

    Parameters
    ----------
    sound_path : callable
        Gives the file of a slug, or None when there is no such recording or it has no sound.
    """
    routes = flask.Blueprint("sound", __name__)

    @routes.get("/sound/<slug>")
    def sound(slug: str) -> flask.Response:
        path = sound_path(slug)
        if path is None:
            return flask.Response("There is no sound for this recording.\n", 404, mimetype="text/plain")
        return send_sound(path, flask.request)

    return routes


def _still_the_same(request: flask.Request, etag: str, modified: datetime) -> bool:
    condition = request.if_range
    if condition.etag is not None:
        return condition.etag == etag
    return condition.date is None or condition.date == modified


def _blocks(path: Path, piece: ByteRange) -> Iterator[bytes]:
    with path.open("rb") as file:
        file.seek(piece.first)
        left = piece.length
        while left > 0:
            block = file.read(min(_BLOCK, left))
            if not block:
                return
            left -= len(block)
            yield block
