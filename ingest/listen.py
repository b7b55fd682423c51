"""Listen to a recording once: evidence, waveform levels and a listening copy from one pass over its sound."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path
from shutil import copyfile
from typing import Any

import numpy as np

from ingest.decode import WORK_RATE_HZ, Samples, mono_blocks
from ingest.errors import EmptyAudio
from ingest.evidence import Evidence
from ingest.levels import LevelMaker, Levels
from ingest.listening_copy import keep_copy
from ingest.measure import measure_blocks
from ingest.sound_files import Role, Sound, SoundInfo, duration_s, probe_sound, stems_in

__all__ = ["Listened", "Role", "Sound", "SoundInfo", "blocks_of", "duration_s", "listen", "probe_sound", "stems_in"]

FROM_TABLA = ("bass", "treble", "strength")
"""What the tabla's own stem tells better than the whole."""


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
    progress: Callable[[float], None] | None = None,
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
        Keep the files as they came beside the listening copy, named ``original-1-`` and so on.

    Raises
    ------
    UnreadableAudio, EmptyAudio, StemsDiffer
        See `ingest.sound_files.probe_sound`.
    """
    info = probe_sound(sound)
    passes = 2 if sound.tabla else 1
    expected = info.duration_s * WORK_RATE_HZ * passes
    done, maker = 0, LevelMaker()

    def watched(role: Role) -> Iterator[Samples]:
        nonlocal done
        for block in blocks_of(sound, role):
            if role == "whole":
                maker.add(block)
            yield block
            done += len(block)
            if progress is not None:
                progress(min(1.0, done / expected))

    evidence = measure_blocks(watched("whole"))
    if evidence.duration_s == 0:
        raise EmptyAudio(sound.files[0])
    if sound.tabla:
        evidence = _with_tabla(evidence, measure_blocks(watched("tabla")))
    copy, originals = None, tuple[Path, ...]()
    if copy_into is not None:
        copy = keep_copy(info.whole[0], copy_into, copy_name) if info.whole else None
        if keep_original:
            names = [copy_into / f"original-{number}-{path.name}" for number, path in enumerate(sound.files, 1)]
            originals = tuple(Path(copyfile(path, name)) for path, name in zip(sound.files, names, strict=True))
    if progress is not None:
        progress(1.0)
    return Listened(evidence, maker.finish(), copy, originals)


def blocks_of(sound: Sound, role: Role = "whole", block_s: float = 10.0) -> Iterator[Samples]:
    """Decode what serves a role best, mono at `decode.WORK_RATE_HZ`.

    Parameters
    ----------
    sound : Sound
    role : {"whole", "melody", "tabla"}
        A stem where there is one, else the whole.
    block_s : float
        Seconds decoded at a time; has no influence on the samples.

    Yields
    ------
    ndarray of float32, shape (n,)
    """
    tracks: list[Iterator[Samples]] = [
        chain.from_iterable(mono_blocks(path, block_s=block_s) for path in files) for files in sound.of(role)
    ]
    return tracks[0] if len(tracks) == 1 else _summed(tracks)


def _summed(tracks: list[Iterator[Samples]]) -> Iterator[Samples]:
    """Sum of signals that begin together; a shorter one ends in silence."""
    held = [np.zeros(0, np.float32) for _ in tracks]
    running = [True] * len(tracks)
    while any(running):
        for number, track in enumerate(tracks):
            if running[number] and not len(held[number]):
                block = next(track, None)
                running[number] = block is not None
                if block is not None:
                    held[number] = block
        ready = [len(part) for part, runs in zip(held, running, strict=True) if runs or len(part)]
        if not ready:
            return
        count = min(ready)
        total = np.zeros(count, np.float32)
        for number, part in enumerate(held):
            total[: len(part[:count])] += part[:count]
            held[number] = part[count:]
        yield total


def _with_tabla(whole: Evidence, tabla: Evidence) -> Evidence:
    """Evidence of the whole with the onset strengths of the tabla's stem, cut or padded to its length."""
    tracks: dict[str, Any] = {}
    for name in FROM_TABLA:
        wanted, heard = len(getattr(whole, name)), getattr(tabla, name)
        tracks[name] = np.pad(heard[:wanted], (0, max(0, wanted - len(heard))))
    return replace(whole, **tracks)
