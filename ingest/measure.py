"""One pass over a recording: decode, onset strengths, level, chroma, drone and texture, block by block.

Memory: one block of sound and the evidence itself (about 11 MB for an hour).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

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
    frames: list[OnsetFrames] = []
    chroma, textures, strokes = [], [], []
    samples = 0
    for block in blocks:
        samples += len(block)
        onset, ready = onset_step(onset, block)
        frames.append(replace(ready, bands=ready.bands[:0].copy()))  # a view would keep all of it
        texture, rows = texture_step(texture, ready.bands)
        textures.append(rows)
        chance, rows = chance_step(chance, ready.bands)
        strokes.append(rows)
        pitch, rows = pitch_step(pitch, block)
        chroma.append(rows)
    frames.append(onset_end(onset))
    texture, rows = texture_step(texture, frames[-1].bands)
    textures += [rows, texture_end(texture)]
    chance, rows = chance_step(chance, frames[-1].bands)
    strokes += [rows, chance_end(chance)]
    rows, drone = pitch_end(pitch)
    chroma.append(rows)
    bass = np.concatenate([part.bass for part in frames])
    bass = np.concatenate([bass[BASS_LATENCY:], np.zeros(min(BASS_LATENCY, len(bass)), np.float32)])
    treble = np.concatenate([part.treble for part in frames])
    return Evidence(
        duration_s=samples / WORK_RATE_HZ,
        hop_s=HOP_S,
        bass=bass,
        treble=treble,
        strength=(bass + treble) / 2,
        level_db=np.concatenate([part.level_db for part in frames]),
        chroma_hop_s=CHROMA_HOP_S,
        chroma=np.concatenate(chroma),
        drone=drone,
        stroke_hop_s=CHANCE_HOP_S,
        strokes=np.concatenate(strokes),
        texture_hop_s=TEXTURE_HOP_S,
        texture=np.concatenate(textures),
    )
