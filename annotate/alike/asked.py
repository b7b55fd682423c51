"""What is looked for: a passage of a recording, or a phrase typed in swaras or bols."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from annotate.alike.heard import ladders_of, sounding_of
from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.grid import RecordingGrid
from ingest.finding.course import Sounding
from ingest.finding.example import Example, Played, Typed
from ingest.finding.searched import Ladder
from ingest.swaras_heard import middle_sa_hz
from theory.clock import format_clock
from theory.notation import parse

SHORTEST_S, LONGEST_S = 0.4, 120.0
WITHIN = 0.9
"""A passage lies on a grid when so much of it does."""


@dataclass(frozen=True, eq=False)
class Asked:
    """What is looked for.

    Parameters
    ----------
    example : Example
    slug : str
        The recording that the passage is from; '' where it is from none of the archive.
    start_s, end_s : float
        Where it lies in it.
    ladders : tuple of Ladder
        Of its raga.
    typed : str
        The phrase as it was typed; '' for a passage.
    """

    example: Example
    slug: str = ""
    start_s: float = 0.0
    end_s: float = 0.0
    ladders: tuple[Ladder, ...] = ()
    typed: str = ""


def passage_of(archive: Archive, slug: str, start_s: float, end_s: float) -> Asked:
    """Return a passage of a recording as what is looked for.

    Raises
    ------
    annotate.errors.NoSuchRecording
    annotate.errors.BadAnnotation
        It is too short or too long, lies outside the recording, or the recording was never measured.
    """
    sounding = sounding_of(archive, slug)
    if sounding is None:
        raise BadAnnotation(
            f"'{slug}' was never measured, so nothing of it can be found again. "
            f"Measure it: layakosh listen-again {slug}"
        )
    where = f"{format_clock(start_s)} to {format_clock(end_s)}"
    if not 0 <= start_s < min(end_s, sounding.duration_s):
        raise BadAnnotation(
            f"The passage {where} does not lie in '{slug}', which is {format_clock(sounding.duration_s)} long: "
            "give a start before the end, both within it."
        )
    end_s = min(end_s, sounding.duration_s)
    if not SHORTEST_S <= end_s - start_s <= LONGEST_S:
        raise BadAnnotation(
            f"The passage {where} is {end_s - start_s:.1f} s long; {SHORTEST_S:g} to {LONGEST_S:g} s can be looked for."
        )
    ladders = ladders_of(archive.state(slug).recording.raga)
    return Asked(_played(sounding, archive.grid(slug), start_s, end_s), slug, start_s, end_s, ladders)


def _played(sounding: Sounding, grid: RecordingGrid, start_s: float, end_s: float) -> Played:
    """The passage, on the grid that it lies on."""
    for each in grid.sections:
        if len(each.matra_s) > 1:
            inside_s = min(end_s, each.matra_s[-1]) - max(start_s, each.matra_s[0])
            if inside_s >= WITHIN * (end_s - start_s):
                return Played(sounding, start_s, end_s, each.matra_s, each.absolute_matras)
    return Played(sounding, start_s, end_s)


def phrase_of(text: str, raga: str = "") -> Asked:
    """Return a typed phrase as what is looked for; steps are those of the raga named.

    Raises
    ------
    theory.errors.NotationError, theory.errors.UnknownName
        It cannot be read, or names a bol that the lexicon does not have.
    ingest.errors.NothingToFind
        It has no notes.
    """
    return Asked(Typed(parse(text)), ladders=ladders_of(raga), typed=text)


def sound_file_of(path: Path, sa_hz: float | None = None, raga: str = "") -> Asked:
    """Return a sound file, such as a phrase played for this, as what is looked for.

    Parameters
    ----------
    path : Path
    sa_hz : float, optional
        Its Sa. By default as it is heard in the file, which for a phrase without a drone says little: it is then found
        as transposed.
    raga : str
        The raga whose steps it may be moved by.

    Raises
    ------
    ingest.errors.UnreadableAudio, ingest.errors.EmptyAudio
    annotate.errors.BadAnnotation
        It is too short or too long.
    """
    from ingest.measure import measure
    from ingest.melody import melody
    from ingest.tonic import sa_from_drone

    evidence = measure(path)
    if not SHORTEST_S <= evidence.duration_s <= LONGEST_S:
        raise BadAnnotation(
            f"'{path}' is {evidence.duration_s:.1f} s long; {SHORTEST_S:g} to {LONGEST_S:g} s can be looked for."
        )
    sa_hz = sa_from_drone(evidence).hz if sa_hz is None else sa_hz
    heard = melody(path)
    sounding = Sounding(evidence.strokes, evidence.stroke_hop_s, heard, middle_sa_hz(heard, sa_hz))
    return Asked(Played(sounding, 0.0, evidence.duration_s), ladders=ladders_of(raga), typed=path.name)
