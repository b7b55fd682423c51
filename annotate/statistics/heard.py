"""How long each swara sounds, by the melody heard in the sound: stretch by stretch of a recording.

Only what is kept is read: a recording whose melody was never followed, or whose Sa is not known, has no rows here.
Accuracy: see ``swaras`` in the README; a swara heard is a frame of the melody near a semitone, not a note that a person
wrote down, so the two are never added up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import pandas as pd

from annotate.archive import Archive
from annotate.swaras import raga_swaras
from ingest.swaras_heard import VOICED, middle_sa_hz, swara_histogram

STRETCH_S = 60.0
"""What is drawn again when one performance is compared with another: long enough that neighbours say little of
each other, short enough that an hour has sixty."""


def heard_seconds(
    archive: Archive, recordings: Sequence[str], tell: Callable[[float], None] | None = None
) -> pd.DataFrame:
    """Return how long each swara is heard.

    Returns
    -------
    DataFrame
        A counted table (see :mod:`annotate.statistics.counted`): unit is the stretch, numbered from 0; amount in
        seconds.
    """
    rows: list[tuple[str, str, str, float]] = []
    for number, slug in enumerate(recordings):
        rows.extend(_heard(archive, slug))
        if tell is not None:
            tell((number + 1) / len(recordings))
    return pd.DataFrame(rows, columns=["recording", "unit", "item", "amount"])


def _heard(archive: Archive, slug: str) -> Iterator[tuple[str, str, str, float]]:
    recording, melody = archive.state(slug).recording, archive.melody(slug)
    if melody is None or recording.sa_hz is None:
        return
    sa_hz, raga = middle_sa_hz(melody, recording.sa_hz), raga_swaras(recording.raga)
    for number in range(int(len(melody.voicing) * melody.hop_s / STRETCH_S) + 1):
        part = melody.between(number * STRETCH_S, (number + 1) * STRETCH_S)
        voiced_s = float((part.voicing >= VOICED).sum()) * part.hop_s
        for swara, share in swara_histogram(part, sa_hz, raga).items():
            if share:
                yield slug, str(number), swara, share * voiced_s
