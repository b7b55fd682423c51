"""One pass over a recording: decode, onset strengths, level, chroma, drone and texture, block by block.

Memory: one block of sound. The evidence (22 MB for an hour) grows in files without a name, see `spool`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

from ingest.decode import WORK_RATE_HZ, Samples, mono_blocks, probe
from ingest.errors import EmptyAudio
from ingest.evidence import Evidence
from ingest.onsets import BASS_LATENCY, HOP_S, OnsetFrames, onset_end, onset_start, onset_step
from ingest.pitches import CHROMA_HOP_S, pitch_end, pitch_start, pitch_step
from ingest.spool import Spool
from ingest.stroke_chances import CHANCE_HOP_S, STROKE_KINDS, chance_end, chance_start, chance_step
from ingest.texture import TEXTURE_BANDS, TEXTURE_HOP_S, texture_end, texture_start, texture_step

AT_ONCE = 1 << 18
"""Frames worked on at a time where all of them are there."""


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
    basses, trebles, levels, strengths = Spool(), Spool(), Spool(), Spool()
    chroma, textures, strokes = Spool(width=12), Spool(width=TEXTURE_BANDS), Spool(width=len(STROKE_KINDS))
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
    textures.append(rows)
    textures.append(texture_end(texture))
    chance, rows = chance_step(chance, ready.bands)
    strokes.append(rows)
    strokes.append(chance_end(chance))
    rows, drone = pitch_end(pitch)
    chroma.append(rows)
    treble = trebles.joined()
    late = min(BASS_LATENCY, len(treble))
    basses.append(np.zeros(late, np.float32))
    bass = basses.joined()[late:]
    for first in range(0, len(bass), AT_ONCE):
        strengths.append(np.float32(0.5) * (bass[first : first + AT_ONCE] + treble[first : first + AT_ONCE]))
    evidence = Evidence(
        duration_s=samples / WORK_RATE_HZ,
        hop_s=HOP_S,
        bass=bass,
        treble=treble,
        strength=strengths.joined(),
        level_db=levels.joined(),
        chroma_hop_s=CHROMA_HOP_S,
        chroma=chroma.joined(),
        drone=drone,
        stroke_hop_s=CHANCE_HOP_S,
        strokes=strokes.joined(),
        texture_hop_s=TEXTURE_HOP_S,
        texture=textures.joined(),
    )
    evidence.let_go()
    return evidence
