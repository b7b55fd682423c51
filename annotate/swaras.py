"""The melody of a recording and its swaras: followed if it was not, how long each sounds, which are held.

Conventions: times in seconds from the start of the recording. Octaves are counted from the middle Sa, which is the
recording's Sa or lies whole octaves from it: where most of the melody lies above it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from annotate import melody_store
from annotate.archive import Archive
from annotate.errors import BadAnnotation
from ingest.decode import WORK_RATE_HZ, mono_blocks, probe
from ingest.melody import Melody, melody_of_blocks
from ingest.swaras_heard import VOICED, HeldSwara, held_swaras, middle_sa_hz, swara_histogram
from theory.clock import format_clock
from theory.errors import UnknownName
from theory.ragas import get_raga
from theory.swaras import letters


@dataclass(frozen=True)
class SwarasHeard:
    """What sounds in a stretch.

    Parameters
    ----------
    start_s, end_s : float
    voiced_s : float
        How long the lead sounds in it.
    shares : dict
        Of that time, by swara, Sa first.
    held : tuple of HeldSwara
        In order of time.
    raga : tuple of str
        Letters of the raga's swaras; empty where it is not in the table.
    sa_hz : float
        The middle Sa.
    """

    start_s: float
    end_s: float
    voiced_s: float
    shares: dict[str, float]
    held: tuple[HeldSwara, ...]
    raga: tuple[str, ...]
    sa_hz: float

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "start_s": self.start_s,
            "end_s": self.end_s,
            "voiced_s": round(self.voiced_s, 2),
            "raga": list(self.raga),
            "sa_hz": round(self.sa_hz, 2),
            "shares": {swara: round(share, 4) for swara, share in self.shares.items()},
            "held": [
                {"swara": each.swara, "start_s": round(each.start_s, 2), "end_s": round(each.end_s, 2)}
                for each in self.held
            ],
        }


def melody_of(archive: Archive, slug: str, tell: Callable[[float], None] | None = None) -> Melody:
    """Return the course of the melody; where it was never followed, follow it in the sound kept, and keep it.

    Parameters
    ----------
    archive : Archive
    slug : str
    tell : callable, optional
        Told the share done, 0 to 1, if the sound has to be listened to.

    Raises
    ------
    NoSuchRecording
    BadAnnotation
        The melody was not followed, and no sound is kept to follow it in.
    """
    archive.state(slug)
    kept = archive.melody(slug)
    if kept is not None:
        return kept
    path = archive.sound_path(slug)
    if path is None:
        raise BadAnnotation(
            f"The melody of '{slug}' was never followed, and the archive keeps no sound of it. Take its sound file in: "
            "layakosh ingest AUDIO --raga R --tala T"
        )
    expected = probe(path).duration_s * WORK_RATE_HZ

    def watched() -> Any:
        done = 0
        for block in mono_blocks(path, WORK_RATE_HZ):
            yield block
            done += len(block)
            if tell is not None:
                tell(min(1.0, done / expected))

    melody = melody_of_blocks(watched())
    melody_store.save(archive.evidence_folder(slug), melody)
    return melody


def swaras_of(
    archive: Archive,
    slug: str,
    start_s: float | None = None,
    end_s: float | None = None,
    tell: Callable[[float], None] | None = None,
    sa_hz: float | None = None,
) -> SwarasHeard:
    """Return how long each swara sounds in a stretch (by default the whole recording), and which are held.

    Raises
    ------
    BadAnnotation
        The stretch has no length.
    """
    recording = archive.state(slug).recording
    melody = melody_of(archive, slug, tell)
    sa_hz = middle_sa_of(archive, slug, melody) if sa_hz is None else sa_hz
    whole_s = len(melody.voicing) * melody.hop_s
    start_s, end_s = start_s or 0.0, whole_s if end_s is None else min(end_s, whole_s)
    if end_s <= start_s:
        raise BadAnnotation(
            f"Nothing lies between {format_clock(start_s)} and {format_clock(end_s)}: "
            f"the recording is {format_clock(round(whole_s))} long."
        )
    part = melody.between(start_s, end_s)
    raga = raga_swaras(recording.raga)
    return SwarasHeard(
        start_s=start_s,
        end_s=end_s,
        voiced_s=float(np.sum(part.voicing >= VOICED) * part.hop_s),
        shares=swara_histogram(part, sa_hz, raga),
        held=tuple(
            HeldSwara(each.start_s + start_s, each.end_s + start_s, each.swara)
            for each in held_swaras(part, sa_hz, raga)
        ),
        raga=raga,
        sa_hz=sa_hz,
    )


def middle_sa_of(archive: Archive, slug: str, melody: Melody) -> float:
    """Return the middle Sa of a recording, in Hz.

    Raises
    ------
    BadAnnotation
        The recording has no Sa.
    """
    sa_hz = archive.state(slug).recording.sa_hz
    if sa_hz is None:
        raise BadAnnotation(
            f"The Sa of '{slug}' is not known, so no swara can be named. Take its sound file in, with --sa HZ if "
            "the Sa heard is not right: layakosh ingest AUDIO --raga R --tala T --sa HZ"
        )
    return middle_sa_hz(melody, sa_hz)


def raga_swaras(raga: str) -> tuple[str, ...]:
    """Return the letters of a raga's swaras, Sa first; empty where the raga is not in the table."""
    try:
        used = get_raga(raga).swara_set
    except UnknownName:
        return ()
    return tuple(letter for letter in letters() if letter in used)
