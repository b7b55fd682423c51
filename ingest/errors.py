"""Errors of ingest: what a recording can have wrong with it, said in one or two lines.

::

    theory.errors.LayakoshError
    └── IngestError
        ├── UnreadableAudio       no such file, a folder, not sound at all, or no sound stream in it
        ├── EmptyAudio            a file that holds no sample of sound
        ├── StemsUnclear          a folder of which it cannot be told what each file holds
        ├── StemsDiffer           stems of one recording that are not of one length
        ├── NoPulse               nothing in the section from which a matra could be told
        ├── BadSa                 a Sa that is neither Hz nor a note name
        ├── NothingToFind         a passage or phrase in which nothing could be found again
        └── ConflictingSams       marked sams closer than any laya allows, or outside the section
"""

from __future__ import annotations

from pathlib import Path

from theory.errors import LayakoshError


class IngestError(LayakoshError):
    """Root of what can go wrong between a sound file and its grid of matras."""


class UnreadableAudio(IngestError):
    """A path from which no sound can be read.

    Parameters
    ----------
    path : Path
        What was to be read.
    why : str
        What is wrong with it, as the end of the sentence "cannot be read as sound: ...".
    """

    def __init__(self, path: Path, why: str) -> None:
        self.path, self.why = path, why
        super().__init__(
            f"'{path}' cannot be read as sound: {why}\n"
            "Give a WAV, FLAC, OGG, MP3, M4A or MP4 file, or a video that has sound."
        )


class EmptyAudio(IngestError):
    """A file that is sound by its form and holds not one sample."""

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(f"'{path}' holds no sound: it has no samples.\nExport or copy it again from its source.")


class StemsUnclear(IngestError):
    """A folder of which it cannot be told which file is the melody, the tabla or the whole."""

    def __init__(self, folder: Path, why: str, what_to_do: str) -> None:
        self.folder, self.why = folder, why
        super().__init__(f"'{folder}' cannot be taken as the stems of a recording: {why}.\n{what_to_do}")


class StemsDiffer(IngestError):
    """Stems that do not belong together, by their lengths in seconds."""

    def __init__(self, lengths_s: dict[str, float]) -> None:
        self.lengths_s = lengths_s
        told = ", ".join(f"{role} {length_s:.1f} s" for role, length_s in lengths_s.items())
        super().__init__(
            f"The stems of a recording should begin together and be of one length; these are not: {told}.\n"
            "Export all of them from the same first moment to the same last."
        )


class NoPulse(IngestError):
    """A section in which no strokes are heard, or whose theka is not known, so that no matra can be told from it.

    Parameters
    ----------
    start_s, end_s : float
        The section.
    tala : str
        The tala whose theka is not known; empty when it is the strokes that lack.
    """

    def __init__(self, start_s: float, end_s: float, tala: str = "") -> None:
        self.start_s, self.end_s, self.tala = start_s, end_s, tala
        why = f"The theka of {tala} is not known here" if tala else "No strokes are heard"
        super().__init__(
            f"{why} between {start_s:.1f} s and {end_s:.1f} s, so the cycle cannot be followed.\n"
            "Mark two sams or more in this section, or move its ends to where the tabla plays."
        )


class ConflictingSams(IngestError):
    """Marked sams that no cycle can satisfy."""


class BadSa(IngestError):
    """A Sa that is neither a frequency in Hz nor a note name."""


class NothingToFind(IngestError):
    """A passage or a typed phrase in which nothing sounds that could be found again."""
