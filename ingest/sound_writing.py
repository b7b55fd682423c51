"""A sound written as a file of its own: FLAC, MP3 or Opus, with its tags, whole or not at all.

Conventions: sound is float32, shape (n, 2), at :data:`RATE_HZ`, full scale 1. FLAC has 16 bits. The file gets its name
when it is whole; until then its name begins with a full stop. MP3 and Opus keep in their headers how many samples the
encoder put before and after, so that what is decoded is as long as what was encoded, to the sample.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from ingest.decode import ffmpeg_name
from ingest.streams import Frames

RATE_HZ = 48000


@dataclass(frozen=True)
class Kind:
    """A kind of file: container and codec by libav's names, its sample format, bits a second (0: none to choose).

    ``peaks_grow_db``: by so much may peaks of what is decoded pass those of what was encoded. ``effort``: the encoder's
    own grade of it; '' where its usual one is quick enough.
    """

    container: str
    codec: str
    samples: str
    bits_per_s: int
    peaks_grow_db: float
    effort: str = ""


KINDS: Mapping[str, Kind] = {
    ".flac": Kind("flac", "flac", "s16", 0, 0.1),
    ".mp3": Kind("mp3", "libmp3lame", "fltp", 192_000, 1.0, "7"),
    ".opus": Kind("ogg", "libopus", "flt", 128_000, 1.5, "5"),
}
"""By the ending of the file's name."""


def kind_of(path: Path) -> Kind | None:
    """Return the kind of file that a name's ending tells, whatever its case; None for any other ending."""
    return KINDS.get(path.suffix.lower())


def write_sound_file(
    blocks: Iterable[Frames],
    path: Path,
    tags: Mapping[str, str],
    beside: Callable[[Frames], None] | None = None,
    *,
    mono: bool = False,
) -> int:
    """Encode a sound.

    Parameters
    ----------
    blocks : iterable of ndarray of float32, shape (n, 2)
    path : Path
        Replaced; its ending, one of :data:`KINDS`, says what it becomes.
    tags : mapping
        Such as ``title``, ``artist``, ``album``, ``date``, ``comment``; texts of any script.
    beside : callable, optional
        Sees every block as well.
    mono : bool
        Whether only the first channel is written, at a third of the bits.

    Returns
    -------
    int
        How many frames were written.

    Raises
    ------
    OSError
        The file cannot be written; nothing of it is left.
    KeyError
        The ending is none of :data:`KINDS`.
    """
    kind = KINDS[path.suffix.lower()]
    unfinished = path.with_name(f".{path.name}.{os.getpid()}.unfinished")
    try:
        written = _encoded(blocks, unfinished, kind, tags, beside, mono=mono)
        with unfinished.open("rb") as file:
            os.fsync(file.fileno())
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
    return written


def _encoded(
    blocks: Iterable[Frames],
    path: Path,
    kind: Kind,
    tags: Mapping[str, str],
    beside: Callable[[Frames], None] | None,
    *,
    mono: bool,
) -> int:
    import av

    layout = "mono" if mono else "stereo"

    with av.open(ffmpeg_name(path), "w", format=kind.container) as out:
        stream = out.add_stream(kind.codec, rate=RATE_HZ, layout=layout)
        codec = stream.codec_context
        codec.format = kind.samples
        if kind.bits_per_s:
            codec.bit_rate = kind.bits_per_s // 3 if mono else kind.bits_per_s
        if kind.effort:
            codec.options = {"compression_level": kind.effort}
        out.metadata.update({name: text for name, text in tags.items() if text})
        codec.open()
        written = 0
        for piece in _pieces(blocks, codec.frame_size or 4096):
            if beside is not None:
                beside(piece)
            packed = _as(piece[:, :1] if mono else piece, kind.samples)
            frame = av.AudioFrame.from_ndarray(packed, format=kind.samples, layout=layout)
            frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, written, Fraction(1, RATE_HZ)
            written += len(piece)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return written


def _pieces(blocks: Iterable[Frames], length: int) -> Iterator[Frames]:
    """The same frames in pieces of ``length``; the last may be shorter."""
    left: Frames = np.zeros((0, 2), np.float32)
    for block in blocks:
        frames = np.concatenate([left, block]) if len(left) else block
        whole = len(frames) // length * length
        yield from (frames[first : first + length] for first in range(0, whole, length))
        left = frames[whole:]
    if len(left):
        yield left


def _as(piece: Frames, samples: str) -> Any:
    if samples == "fltp":
        return np.ascontiguousarray(piece.T)
    packed = np.ascontiguousarray(piece).reshape(1, -1)
    if samples == "s16":
        return np.round(np.clip(packed, -1, 1) * 32767).astype(np.int16)
    return packed
