"""Listen to a recording once: evidence, waveform levels and a listening copy from one pass over its sound.

The sound is decoded block by block; every block goes to the encoder of the copy (in a thread), to the waveform levels
and to what is measured. The stem of the tabla, if there is one, is heard in a second pass. Memory: a few blocks, the
evidence and the levels, about 20 MB for an hour.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ, frame_blocks
from ingest.errors import EmptyAudio
from ingest.evidence import Evidence
from ingest.levels import LevelMaker, Levels
from ingest.listening_copy import OPUS_RATE_HZ, CopyWriter, can_be_carried, carry_over, copy_as_it_is
from ingest.measure import measure_blocks
from ingest.onsets import LOUDNESS_POWER
from ingest.sound_files import Role, Sound, SoundInfo, duration_s, probe_sound, stems_in
from ingest.streams import Samples, Stream, at_rate, summed
from ingest.stroke_chances import STROKE_KINDS

__all__ = ["Listened", "Role", "Sound", "SoundInfo", "blocks_of", "duration_s", "listen", "probe_sound", "stems_in"]

FROM_TABLA = ("bass", "treble", "strength")
"""Onset strengths that the tabla's own stem tells better than the whole."""
PLUCK = STROKE_KINDS.index("pluck")

LOUD_PERCENTILE = 95
SOUNDING_DB = -70.0
"""Below it a stem is silent: no tabla is heard, only the noise of its track."""

Told = Callable[[float], None]
Rows = NDArray[np.float32]


@dataclass(frozen=True)
class Listened:
    """What listening leaves behind: evidence, waveform levels, and what was written of the sound.

    Parameters
    ----------
    copy : Path or None
        The listening copy, if one was asked for.
    originals : tuple of Path
        The files as they came, if they were to be kept.
    """

    evidence: Evidence
    levels: Levels
    copy: Path | None
    originals: tuple[Path, ...] = ()


def listen(
    sound: Sound,
    copy_into: Path | None = None,
    copy_name: str = "listening",
    progress: Told | None = None,
    keep_original: bool = False,
) -> Listened:
    """Measure a recording, make its waveform levels and write its listening copy.

    Parameters
    ----------
    sound : Sound
    copy_into : Path, optional
        An existing folder for the listening copy; without it none is made.
    copy_name : str
        File name of the listening copy without the extension.
    progress : callable, optional
        Called after every block with the share done, 0 to 1.
    keep_original : bool
        Keep the files as they came beside the listening copy, as ``<copy_name>-original-1.wav`` and so on.

    Raises
    ------
    UnreadableAudio, EmptyAudio, StemsDiffer
        See `ingest.sound_files.probe_sound`.
    OSError
        The copy cannot be written.
    """
    info = probe_sound(sound)
    told = _Progress(progress, info.duration_s * (2 if sound.tabla else 1))
    maker = LevelMaker()
    with ExitStack() as stack:
        writer: CopyWriter | None = None
        if copy_into is not None and not _carried(info):
            writer = stack.enter_context(CopyWriter(copy_into, copy_name, _channels(info)))
        evidence = measure_blocks(_watched(_mono(_copied(_frames(sound.tracks), writer)), told, maker))
        if evidence.duration_s == 0:
            raise EmptyAudio(sound.files[0])
        copy = writer.finish() if writer is not None else None
    if copy_into is not None and copy is None:
        copy = carry_over(info.whole[0], evidence.duration_s, copy_into, copy_name)
        copy = copy or _encoded(sound, info, copy_into, copy_name)
    if sound.tabla:
        evidence = _with_tabla(evidence, measure_blocks(_watched(blocks_of(sound, "tabla"), told)))
    originals = _kept(sound, copy_into, copy_name) if copy_into is not None and keep_original else ()
    told.done()
    return Listened(evidence, maker.finish(), copy, originals)


def blocks_of(sound: Sound, role: Role = "whole", block_s: float = 10.0) -> Iterator[Samples]:
    """Decode what serves a role best, mono at `decode.WORK_RATE_HZ`.

    Parameters
    ----------
    sound : Sound
    role : {"whole", "melody", "tabla"}
        A stem where there is one, else the whole; the whole is the sum of the stems where there is no other.
    block_s : float
        Seconds decoded at a time; has no influence on the samples.

    Yields
    ------
    ndarray of float32, shape (n,)
    """
    return _mono(_frames(sound.of(role), block_s))


class _Progress:
    """Tells the share of the seconds that were heard."""

    def __init__(self, told: Told | None, expected_s: float) -> None:
        self._told, self._expected_s, self._heard_s = told, expected_s, 0.0

    def more(self, heard_s: float) -> None:
        self._heard_s += heard_s
        if self._told is not None:
            self._told(min(1.0, self._heard_s / self._expected_s))

    def done(self) -> None:
        if self._told is not None:
            self._told(1.0)


def _frames(tracks: tuple[tuple[Path, ...], ...], block_s: float = 10.0) -> Stream:
    """Files one after the other as they are; of several tracks the sum, stereo at the copy's rate."""
    streams = [chain.from_iterable(frame_blocks(path, block_s) for path in files) for files in tracks]
    if len(streams) == 1:
        yield from streams[0]
    else:
        yield from ((frames, OPUS_RATE_HZ) for frames in summed([at_rate(s, OPUS_RATE_HZ, 2) for s in streams]))


def _copied(stream: Stream, writer: CopyWriter | None) -> Stream:
    for frames, rate_hz in stream:
        if writer is not None:
            writer.add(frames, rate_hz)
        yield frames, rate_hz


def _mono(stream: Stream) -> Iterator[Samples]:
    for frames in at_rate(stream, WORK_RATE_HZ, channels=1):
        yield frames[:, 0]


def _watched(blocks: Iterable[Samples], told: _Progress, maker: LevelMaker | None = None) -> Iterator[Samples]:
    for block in blocks:
        if maker is not None:
            maker.add(block)
        yield block
        told.more(len(block) / WORK_RATE_HZ)


def _carried(info: SoundInfo) -> bool:
    return len(info.whole) == 1 and can_be_carried(info.whole[0])


def _channels(info: SoundInfo) -> int:
    """Channels of the copy: two where a file has just two, or stems are summed."""
    return 2 if not info.whole or any(part.channels == 2 for part in info.whole) else 1


def _encoded(sound: Sound, info: SoundInfo, folder: Path, name: str) -> Path:
    """Encode what turned out not to be fit to be carried over: its sound is decoded once more."""
    with CopyWriter(folder, name, _channels(info)) as writer:
        for frames, rate_hz in _frames(sound.tracks):
            writer.add(frames, rate_hz)
        return writer.finish()


def _kept(sound: Sound, folder: Path, name: str) -> tuple[Path, ...]:
    return tuple(copy_as_it_is(path, folder, f"{name}-original-{number}") for number, path in enumerate(sound.files, 1))


def _with_tabla(whole: Evidence, tabla: Evidence) -> Evidence:
    """Evidence of the whole with what the tabla's stem tells: onset strengths, and strokes but for the lead's plucks.

    The strengths are scaled as if the stem were as loud as the whole, so that the level at which somebody exported it
    is without influence: an onset strength is compared with the recording's loudness, and scales as energy to the
    power 0.2.
    """
    scale = 10 ** (LOUDNESS_POWER / 10 * (_loud_db(whole) - _loud_db(tabla)))
    scaled = {name: _as_long_as(getattr(whole, name), getattr(tabla, name)) * np.float32(scale) for name in FROM_TABLA}
    tracks: dict[str, Any] = {**scaled, "strokes": _as_long_as(whole.strokes, tabla.strokes)}
    tracks["strokes"][:, PLUCK] = whole.strokes[:, PLUCK]  # no level of its own: each second is compared with itself
    return replace(whole, **tracks)


def _as_long_as(wanted: Rows, heard: Rows) -> Rows:
    """What is heard, cut or followed by zeros, with as many frames as wanted."""
    rows = np.zeros_like(wanted)
    rows[: len(heard)] = heard[: len(wanted)]
    return rows


def _loud_db(evidence: Evidence) -> float:
    """Level of a recording's loud moments, those without any sound left aside."""
    sounding = evidence.level_db[evidence.level_db > SOUNDING_DB]
    return float(np.percentile(sounding, LOUD_PERCENTILE)) if len(sounding) else 0.0
