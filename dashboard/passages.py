"""Passages of a recording as small sound files: for loops without a gap, and slowly at the same pitch.

    GET /passage/<slug>?from_ms=12000&to_ms=17000&speed=50      (speed in percent)

Aim
    A browser plays a long recording from its listening copy (:mod:`dashboard.sound`). What it cannot do well with that,
    it does with passages, decoded and laid end to end to the sample: loops, slow playing, clicks on the matras.

Conventions
    The answer is FLAC as :mod:`ingest.passage_sound` makes it, with an ETag of the copy and what was asked. What was
    made last is kept in memory, up to :data:`KEPT_BYTES`. Slowing holds the interpreter for some tenths of a second, so
    that it is done in a process of its own, which is started when first needed.
    What is asked wrongly is told in a sentence, with status 400 or 404.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import flask

from ingest.passage_sound import passage_flac
from ingest.slowing import SLOWEST

LONGEST_MS = 12_000
KEPT_BYTES = 32 << 20
MOST_WAITING = 6
"""So many may wait for a passage to be slowed down; more would hold all the server's threads, so they are told to
ask again."""


_waiting = threading.BoundedSemaphore(MOST_WAITING)


class TooManyWaiting(Exception):
    """As many people as may are waiting for a passage to be slowed down."""


@dataclass(frozen=True)
class Wanted:
    """A passage that was asked for: from and to in ms, speed in percent."""

    from_ms: int
    to_ms: int
    speed: int


class Passages:
    """Makes passages and keeps those made last."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, Wanted], bytes] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, path: Path, stamp: str, wanted: Wanted) -> bytes | None:
        """Return a passage of a sound file; None where there is no sound.

        Parameters
        ----------
        path : Path
        stamp : str
            Another one when the file is another.
        wanted : Wanted

        Raises
        ------
        av.FFmpegError, OSError, IndexError
            The sound cannot be read.
        TooManyWaiting
            As many as may are waiting already.
        BrokenProcessPool
            The process that slows sound down was killed.
        """
        key = f"{path} {stamp}", wanted
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        made = _made(path, wanted)
        if made is not None:
            self._keep(key, made)
        return made

    def _keep(self, key: tuple[str, Wanted], made: bytes) -> None:
        with self._lock:
            self._kept[key] = made
            while sum(map(len, self._kept.values())) > KEPT_BYTES:
                self._kept.popitem(last=False)


def passage_routes(sound_path: Callable[[str], Path | None]) -> flask.Blueprint:
    """Make the route ``/passage/<slug>``.

    Parameters
    ----------
    sound_path : callable
        Gives the file of a slug, or None when there is no such recording or it has no sound.
    """
    routes = flask.Blueprint("passages", __name__)
    passages = Passages()

    @routes.get("/passage/<slug>")
    def passage(slug: str) -> flask.Response:
        wanted = _wanted(flask.request)
        if wanted is None:
            return _told(
                f"Expected ?from_ms=, &to_ms= (later, by at most {LONGEST_MS} ms) and &speed="
                f" ({100 * SLOWEST:.0f} to 100 percent), each a whole number.",
                400,
            )
        path = sound_path(slug)
        if path is None:
            return _told("There is no sound for this recording.", 404)
        return _answer(passages, path, wanted)

    return routes


def _wanted(request: flask.Request) -> Wanted | None:
    values = [request.args.get(name, type=int) for name in ("from_ms", "to_ms", "speed")]
    numbers = [value for value in values if value is not None]
    if len(numbers) < len(values):
        return None
    wanted = Wanted(*numbers)
    long_enough = 0 <= wanted.from_ms < wanted.to_ms <= wanted.from_ms + LONGEST_MS
    return wanted if long_enough and 100 * SLOWEST <= wanted.speed <= 100 else None


def _answer(passages: Passages, path: Path, wanted: Wanted) -> flask.Response:
    import av

    stat = path.stat()
    stamp = f"{stat.st_size:x}-{stat.st_mtime_ns:x}"
    etag = f"{stamp}-{wanted.from_ms:x}-{wanted.to_ms:x}-{wanted.speed:x}"
    if flask.request.if_none_match.contains(etag):
        response = flask.Response(status=304)
    else:
        try:
            sound = passages.get(path, stamp, wanted)
        except (av.FFmpegError, OSError, IndexError):
            return _told("The sound of this recording cannot be read.", 404)
        except TooManyWaiting:
            return _told("Others are having passages slowed down. Try again in a moment.", 503)
        except BrokenProcessPool:
            return _told("The passage could not be slowed down; the machine may be short of memory. Try again.", 503)
        if sound is None:
            return _told("The recording ends before this passage.", 404)
        response = flask.Response(sound, mimetype="audio/flac")
    response.set_etag(etag)
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _told(message: str, status: int) -> flask.Response:
    return flask.Response(f"{message}\n", status, mimetype="text/plain")


def _made(path: Path, wanted: Wanted) -> bytes | None:
    asked = path, wanted.from_ms / 1000, wanted.to_ms / 1000, wanted.speed / 100
    if wanted.speed == 100:
        return passage_flac(*asked)
    if not _waiting.acquire(blocking=False):
        raise TooManyWaiting
    try:
        return _aside().submit(passage_flac, *asked).result()
    except BrokenProcessPool:  # it was killed, for want of memory perhaps; the next one may live
        _aside.cache_clear()
        raise
    finally:
        _waiting.release()


@cache
def _aside() -> ProcessPoolExecutor:
    """The process that slows sound down: one for all dashboards of this process."""
    return ProcessPoolExecutor(1, multiprocessing.get_context("spawn"), _begin)


def _begin() -> None:
    """Let the parent alone be asked to stop (Ctrl-C), and end when it does, however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
