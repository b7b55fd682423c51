"""A passage of a recording as a small sound file of its own: as played, or slower at the same pitch.

Conventions: the sound is FLAC of 16 bits at the copy's own rate and channels, at :data:`LEVEL` of its loudness, since
slowing raises peaks and what is clipped stays clipped. Whoever plays it makes it as much louder again.
"""

from __future__ import annotations

import io
from pathlib import Path

from ingest.between import read_between
from ingest.slowing import CONTEXT_S, slowed

LEVEL = 0.5


def passage_flac(path: Path, start_s: float, end_s: float, speed: float) -> bytes | None:
    """Cut a passage out of a listening copy and slow it down.

    Parameters
    ----------
    path : Path
    start_s, end_s : float
        ``start_s`` at least 0. Where the sound ends earlier, so does the passage.
    speed : float
        Share of the speed as played, 0.25 to 1.

    Returns
    -------
    bytes or None
        Its first sample is what sounds at ``start_s``, to the sample. None where there is no sound.

    Raises
    ------
    av.FFmpegError, OSError, IndexError
        The sound cannot be read.
    """
    import soundfile

    before_s = min(CONTEXT_S, start_s) if speed < 1 else 0.0
    after_s = CONTEXT_S if speed < 1 else 0.0
    frames, rate_hz, begins_s = read_between(path, start_s - before_s, end_s + after_s)
    first, stop = (round((time_s - begins_s) / speed * rate_hz) for time_s in (start_s, end_s))
    sounding = slowed(frames, rate_hz, speed)[max(0, first) : max(0, stop)]
    if not len(sounding):
        return None
    file = io.BytesIO()
    soundfile.write(file, LEVEL * sounding, rate_hz, "PCM_16", format="FLAC")
    return file.getvalue()
