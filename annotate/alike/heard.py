"""A recording made ready to be searched: what sounds in it, its sections on their grids and the rest on the clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from annotate import evidence_store
from annotate.archive import Archive
from annotate.grid import Grid, RecordingGrid
from ingest.finding.course import Course, Sounding, on_clock, on_grid
from ingest.finding.searched import Ladder
from ingest.swaras_heard import middle_sa_hz
from theory.errors import UnknownName
from theory.notation import parse
from theory.ragas import get_raga
from theory.swaras import letters, semitones_of

SHORTEST_REST_S = 2.0
"""Less than this between two sections is no place to look in."""
LEAST_RUNGS = 5


@dataclass(frozen=True, eq=False)
class HeardCourse:
    """A stretch of a recording in columns, with the grid it lies on; None off the grid."""

    course: Course
    grid: Grid | None


def sounding_of(archive: Archive, slug: str) -> Sounding | None:
    """Return what is compared of a recording; None where it was not measured.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    sa_hz = archive.state(slug).recording.sa_hz
    strokes = evidence_store.load_strokes(archive.evidence_folder(slug))
    if strokes is None or not len(strokes[0]):
        return None
    melody = archive.melody(slug)
    if melody is None or not len(melody.voicing) or sa_hz is None:
        return Sounding(*strokes, None, None)
    return Sounding(*strokes, melody, middle_sa_hz(melody, sa_hz))


def courses(sounding: Sounding, grid: RecordingGrid, *, by_matras: bool) -> Iterator[HeardCourse]:
    """Give the stretches of a recording to look in, one at a time.

    Parameters
    ----------
    sounding : Sounding
    grid : RecordingGrid
    by_matras : bool
        Whether what is looked for can be counted in matras: the sections with a grid are then laid out on it, and only
        the rest on the clock.
    """
    sections = [each for each in grid.sections if len(each.matra_s) > 1] if by_matras else []
    for each in sections:
        yield HeardCourse(on_grid(sounding, each.matra_s, each.absolute_matras), each)
    for start_s, end_s in _rest(sections, sounding.duration_s):
        yield HeardCourse(on_clock(sounding, start_s, end_s), None)


def _rest(sections: list[Grid], duration_s: float) -> Iterator[tuple[float, float]]:
    """What no grid covers."""
    here_s = 0.0
    for each in [*sorted(sections, key=lambda grid: grid.matra_s[0]), None]:
        start_s = float(each.matra_s[0]) if each is not None else duration_s
        if start_s - here_s >= SHORTEST_REST_S:
            yield here_s, start_s
        if each is not None:
            here_s = max(here_s, float(each.matra_s[-1]))


def ladders_of(raga: str) -> tuple[Ladder, ...]:
    """Return the ladders of a raga: all its swaras, and those of its aroha; none where it is not in the table."""
    try:
        known = get_raga(raga)
    except UnknownName:
        return ()
    whole = {letters().index(letter) for letter in known.swaras}
    ascent = {semitones_of(note.symbol) % 12 for note in parse(known.aroha).notes}
    return tuple(tuple(sorted(each)) for each in (whole, ascent) if LEAST_RUNGS <= len(each) < 12)
