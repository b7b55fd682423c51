"""The sound of a recording: whether it is there, and whether it is the recording's."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

from annotate.check.findings import Finding
from annotate.check.history import refuse_unreachable
from annotate.errors import BadName
from annotate.state import State
from annotate.store.base import Store, checked
from annotate.store.disk import DiskStore
from ingest.decode import frame_blocks, probe
from ingest.errors import IngestError

LENGTH_SLACK_S = 1.0
"""A copy may be so much longer or shorter than what it was made from: codecs count in frames."""
_BACKUP = "Take it from a backup, if you have one; 'listen-again --from FILE' needs the file it was made from."


def findings_of(store: Store, state: State, *, listen: bool) -> Iterator[Finding]:
    """Give what is wrong with the sound of a recording.

    Parameters
    ----------
    listen : bool
        Whether copies are decoded to their end and originals held against their digests; otherwise files on a disk are
        looked at, and of those in an object store only whether they are there.
    """
    recording = state.recording
    if not recording.audio_path:
        return
    try:
        there = bool(store.stamp(checked(recording.audio_path)))
    except BadName:
        yield Finding(
            "sound outside",
            f"{state.slug}, audio_path",
            f"It names {recording.audio_path!r}, which is no place in an archive; nothing is played.",
            "The edit that wrote it has to be taken back.",
        )
        return
    if not there:
        yield Finding("sound missing", recording.audio_path, "There is nothing to listen to.", _BACKUP)
        return
    if isinstance(store, DiskStore) or listen:
        yield from _of_copy(store, state, listen=listen)
    if listen:
        yield from _of_originals(store, state)


def _of_copy(store: Store, state: State, *, listen: bool) -> Iterator[Finding]:
    name, expected_s = state.recording.audio_path, state.recording.duration_s
    try:
        path = store.local(name)
        length_s = _heard_s(path) if listen else probe(path).duration_s
    except FileNotFoundError:
        yield Finding(
            "sound outside", name, "It is a link that leads out of the archive, and is not followed.", _BACKUP
        )
        return
    except (IngestError, OSError) as error:
        refuse_unreachable(error)
        yield Finding("sound damaged", name, f"It cannot be played: {str(error).splitlines()[0]}", _BACKUP)
        return
    if expected_s is not None and abs(length_s - expected_s) > LENGTH_SLACK_S:
        yield Finding(
            "sound differs",
            name,
            f"It is {length_s:.1f} s long and the recording {expected_s:.1f} s: cut short, or not the recording's.",
            _BACKUP,
        )


def _of_originals(store: Store, state: State) -> Iterator[Finding]:
    wanted = {file.sha256 for file in state.recording.files} | {state.recording.audio_sha256}
    for entry in store.files(f"recordings/{state.slug}/sound"):
        if "-original-" not in entry.last:
            continue
        try:
            with store.local(entry.name).open("rb") as content:
                digest = hashlib.file_digest(content, "sha256").hexdigest()
        except (OSError, BadName) as error:
            refuse_unreachable(error)
            digest = ""
        if digest not in wanted:
            means = "It is not the file that was taken in: its digest is another."
            yield Finding("sound differs", entry.name, means, _BACKUP)


def _heard_s(path: Path) -> float:
    return sum(len(frames) / rate_hz for frames, rate_hz in frame_blocks(path))
