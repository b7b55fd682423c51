"""One pass over a recording: decode, onset strengths, level, chroma, drone and texture, block by block.

Memory: one block of sound and the evidence itself (17 MB for an hour), half of it twice while it is put together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ingest.decode import WORK_RATE_HZ, Samples, mono_blocks, probe
from ingest.errors import EmptyAudio
from ingest.evidence import Evidence
from ingest.onsets import BASS_LATENCY, HOP_S, OnsetFrames, onset_end, onset_start, onset_step
from ingest.pitches import CHROMA_HOP_S, pitch_end, pitch_start, pitch_step
from ingest.stroke_chances import CHANCE_HOP_S, chance_end, chance_start, chance_step
from ingest.texture import TEXTURE_HOP_S, texture_end, texture_start, texture_step


def measure(path: str | Path, progress: Callable[[float], None] | None = None, block_s: float = 10.0) -> Evidence:
    """Measure a recording in one streaming pass.

    Parameters
    ----------
    path : str or Path
        Any file that `decode` reads.
    progress : callable, optional
        Called after every block with the share done, 0 to 1.
    block_s : float
        Seconds read at a time; has no influence on the result.

    Returns
    -------
    Evidence

    Raises
    ------
    UnreadableAudio, EmptyAudio
        See `ingest.decode.probe`.
    """
    info = probe(path)
    expected = info.duration_s * WORK_RATE_HZ

    def watched() -> Iterable[Samples]:
        done = 0
        for block in mono_blocks(path, WORK_RATE_HZ, block_s):
            yield block
            done += len(block)
            if progress is not None:
                progress(min(1.0, done / expected))

    evidence = measure_blocks(watched())
    if evidence.duration_s == 0:
        raise EmptyAudio(info.path)
    if progress is not None:
        progress(1.0)
    return evidence


def measure_blocks(blocks: Iterable[Samples]) -> Evidence:
    """Measure a signal that comes in blocks of mono samples at `decode.WORK_RATE_HZ`."""
    onset, pitch, texture, chance = onset_start(), pitch_start(), texture_start(), chance_start()
    basses, trebles, levels = _Parts(), _Parts(), _Parts()
    chroma, textures, strokes = _Parts(), _Parts(), _Parts()
    samples = 0

    def keep(ready: OnsetFrames) -> None:
        for parts, rows in ((basses, ready.bass), (trebles, ready.treble), (levels, ready.level_db)):
            parts.append(rows)

    for block in blocks:
        samples += len(block)
        onset, ready = onset_step(onset, block)
        keep(ready)
        texture, rows = texture_step(texture, ready.bands)
        textures.append(rows)
        chance, rows = chance_step(chance, ready.bands)
        strokes.append(rows)
        pitch, rows = pitch_step(pitch, block)
        chroma.append(rows)
    ready = onset_end(onset)
    keep(ready)
    texture, rows = texture_step(texture, ready.bands)
    textures += [rows, texture_end(texture)]
    chance, rows = chance_step(chance, ready.bands)
    strokes += [rows, chance_end(chance)]
    rows, drone = pitch_end(pitch)
    chroma.append(rows)
    bass = basses.joined()
    bass = np.concatenate([bass[BASS_LATENCY:], np.zeros(min(BASS_LATENCY, len(bass)), np.float32)])
    treble = trebles.joined()
    return Evidence(
        duration_s=samples / WORK_RATE_HZ,
        hop_s=HOP_S,
        bass=bass,
        treble=treble,
        strength=np.float32(0.5) * (bass + treble),
        level_db=levels.joined(),
        chroma_hop_s=CHROMA_HOP_S,
        chroma=chroma.joined(),
        drone=drone,
        stroke_hop_s=CHANCE_HOP_S,
        strokes=strokes.joined(),
        texture_hop_s=TEXTURE_HOP_S,
        texture=textures.joined(),
    )


class _Parts(list[NDArray[np.float32]]):
    """Rows that came block by block."""

    def joined(self) -> NDArray[np.float32]:
        """All rows; the parts are given up, so that only what is being joined is there twice."""
        whole = np.concatenate(self)
        self.clear()
        return whole
