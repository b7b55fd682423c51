"""A sound written as loud as every other: measured, brought to the loudness that is wanted by one gain, encoded.

Where peaks would pass the ceiling, a limiter bends them down (:func:`ingest.loudness.limited`), by :data:`DEEPEST_DB`
at most: a sound of still higher peaks stays softer than wanted. What the limiter takes from the loudness is made up
for by a second look where it is more than can be neglected.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import numpy as np

from annotate.practice.errors import CannotSound
from annotate.practice.sounds.mixing import BLOCK
from annotate.practice.sounds.wishes import CEILING_DB
from ingest.loudness import Loudness, Meter, limited, ratio_of
from ingest.sound_writing import KINDS, RATE_HZ, write_sound_file
from ingest.spool import Spool, let_go
from ingest.streams import Frames

Progress = Callable[[float], None]

DEEPEST_DB = 9.0
NEARLY_LU = 0.1
"""So far off loudness may lie; a listener hears one LU or more."""
_LOOKS = 3
_MIXED = 0.5  # the share of the work that is done when all is mixed


def written_evenly(
    blocks: Iterable[Frames],
    length: int,
    path: Path,
    wanted_lufs: float,
    tags: dict[str, str],
    progress: Progress | None = None,
    *,
    mono: bool = False,
) -> Loudness:
    """Write a sound that comes in blocks.

    Parameters
    ----------
    blocks : iterable of ndarray of float32, shape (n, 2)
    length : int
        Samples in all.
    path : Path
        Its ending says what it becomes.
    wanted_lufs : float
    tags : dict
    progress : callable, optional
        Told the share done, 0 to 1.
    mono : bool
        Whether both channels become one. Its loudness is that of two equal channels, since so it is heard.

    Returns
    -------
    Loudness
        Of what was encoded.

    Raises
    ------
    CannotSound
        There is nothing to be heard.
    OSError
        The file cannot be written; nothing of it is left.
    """
    told = progress or (lambda _share: None)
    spool, meter = Spool(np.float32, 2), Meter(RATE_HZ, between_samples=False)
    for number, block in enumerate(map(_equal, blocks) if mono else blocks):
        meter.add(block)
        spool.append(block)
        told(_MIXED * min(1.0, (number + 1) * BLOCK / length))
    before = meter.finish()
    if not math.isfinite(before.lufs):
        raise CannotSound("Nothing can be heard in it, or it is shorter than 0.4 s: ask for a count-in or more rounds.")
    sound = spool.joined()
    ceiling_db = CEILING_DB - KINDS[path.suffix.lower()].peaks_grow_db
    most_db = DEEPEST_DB + ceiling_db - before.peak_db
    gain_db = min(wanted_lufs - before.lufs, most_db)

    def louder() -> Iterator[Frames]:
        yield from limited(_stored(sound), ratio_of(gain_db), ratio_of(ceiling_db), RATE_HZ)

    loudness, farthest = before, _MIXED
    for look in range(_LOOKS):
        after, done = Meter(RATE_HZ), 0

        def watched(piece: Frames, after: Meter = after) -> None:
            nonlocal done, farthest
            after.add(piece)
            done += len(piece)
            if done % BLOCK < len(piece):
                farthest = max(farthest, _MIXED + (1 - _MIXED) * done / length)
                told(farthest)

        write_sound_file(louder(), path, tags, watched, mono=mono)
        loudness = after.finish()
        missing_db = wanted_lufs - loudness.lufs
        if abs(missing_db) <= NEARLY_LU or gain_db >= most_db or look == _LOOKS - 1:
            break
        gain_db = min(gain_db + missing_db, most_db)
    told(1.0)
    return loudness


def _equal(block: Frames) -> Frames:
    """Two equal channels of what both are on average."""
    return np.repeat(block.mean(axis=1, keepdims=True, dtype=np.float32), 2, axis=1)


def _stored(sound: Frames) -> Iterator[Frames]:
    """The blocks again, of which only one is in memory."""
    for first in range(0, len(sound), BLOCK):
        yield sound[first : first + BLOCK]
        let_go(sound)
