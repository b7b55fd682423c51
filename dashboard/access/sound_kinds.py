"""Which files that people send are sound: told by their content alone.

First by how the content begins, so that lists of other files (which FFmpeg would follow to wherever they point) never
reach a decoder; then by what :func:`ingest.decode.probe` finds in it. That is done in a process of its own: content
made to break a decoder breaks that one and not the server.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from annotate.beside import Beside
from annotate.errors import ArchiveError
from dashboard.errors import SendingRefused
from ingest.decode import probe
from ingest.errors import EmptyAudio, UnreadableAudio

SPOKEN = "WAV, AIFF, CAF, FLAC, OGG, MP3, AAC, M4A, or the sound of an MP4, WebM, Matroska, AVI or WMA file"
CONTAINERS = frozenset(
    {"wav", "wavex", "rf64", "w64", "aiff", "caf", "au", "flac", "ogg", "mp3", "aac", "mov", "mp4", "m4a", "matroska"}
    | {"webm", "avi", "asf"}
)
_STARTS = (
    *(b"RIFF", b"RIFX", b"RF64", b"FORM", b"caff", b".snd", b"fLaC", b"OggS"),
    b"\x1a\x45\xdf\xa3",  # EBML: Matroska, WebM
    b"\x30\x26\xb2\x75\x8e\x66\xcf\x11",  # ASF: WMA
)
_TAG_BYTES = 10
LONGEST_LOOK_S = 60.0


@dataclass(frozen=True)
class Sent:
    """What a sent file turned out to be: its container as the decoder names it, its length in seconds."""

    container: str
    duration_s: float


def look_at(path: Path, shown: str) -> Sent:
    """Return what a file is.

    Parameters
    ----------
    path : Path
    shown : str
        What to call it in a message.

    Raises
    ------
    SendingRefused
        It is no sound of a kind that is taken.
    """
    if not begins_as_sound(path):
        raise SendingRefused(f"{shown} is no sound file: {SPOKEN} was expected.", 415)
    work = Beside(_probed, str(path))
    try:
        until_s = time.monotonic() + LONGEST_LOOK_S
        while not work.ended and time.monotonic() < until_s:
            work.heard(wait_s=1.0)
        container, duration_s, why = work.result() if work.ended else ("", 0.0, "it takes too long.")
    except (ArchiveError, OSError):
        container, duration_s, why = "", 0.0, "it is damaged."
    finally:
        work.stop()
    if why:
        raise SendingRefused(f"{shown} cannot be read as sound: {why}", 415)
    if not CONTAINERS & set(container.split(",")):
        raise SendingRefused(f"{shown} holds sound in a form that is not taken ({container}): {SPOKEN}.", 415)
    return Sent(container, duration_s)


def begins_as_sound(path: Path) -> bool:
    """Tell whether a file begins as one of the kinds that are taken; the tags in front of an MP3 are passed over."""
    with path.open("rb") as file:
        start = file.read(16)
        at = 0
        while start.startswith(b"ID3") and len(start) >= _TAG_BYTES:
            high, second, third, low = start[6:_TAG_BYTES]
            if max(high, second, third, low) > 127:  # no length of a tag: seven bits each
                return False
            at += _TAG_BYTES + (high << 21 | second << 14 | third << 7 | low)
            file.seek(at)
            start = file.read(16)
    sync = len(start) >= 2 and start[0] == 0xFF and start[1] & 0xE0 == 0xE0  # a frame of MP3 or AAC
    return start.startswith(_STARTS) or start[4:8] == b"ftyp" or sync


def _probed(path: str, _tell: Callable[[object], None]) -> tuple[str, float, str]:
    """Container, length in seconds, and what is wrong with the file, if anything: without its path."""
    try:
        info = probe(path)
    except UnreadableAudio as error:
        return "", 0.0, error.why
    except EmptyAudio:
        return "", 0.0, "there is not one sample in it."
    return info.container, info.duration_s, ""
