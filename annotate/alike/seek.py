"""The search over the archive: one recording at a time, the best of each kept, so that memory does not grow with it."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass

from annotate.alike.asked import Asked
from annotate.alike.heard import courses, ladders_of, sounding_of
from annotate.alike.likes import Like, like_of
from annotate.archive import Archive
from ingest.finding.like import ANYTHING, Wanted, likenesses
from ingest.finding.searched import Searched

SAME_PLACE = 0.5
"""What shares so much of its time with the passage that was looked for is that passage."""
MOST = 30


@dataclass(frozen=True)
class Sought:
    """What was found.

    Parameters
    ----------
    likes : tuple of Like
        The likest first. The passage itself is not among them.
    searched : int
        Recordings that were looked through.
    not_measured : tuple of str
        Those of which nothing was measured, so that nothing can be found in them.
    """

    likes: tuple[Like, ...]
    searched: int
    not_measured: tuple[str, ...]


def seek(
    archive: Archive,
    asked: Asked,
    wanted: Wanted = ANYTHING,
    recordings: Collection[str] | None = None,
    most: int = MOST,
    tell: Callable[[float], None] | None = None,
) -> Sought:
    """Find what is like a passage or a phrase.

    Parameters
    ----------
    archive : Archive
    asked : Asked
    wanted : Wanted
        What may differ.
    recordings : collection of str, optional
        Where to look; by default everywhere.
    most : int
        How many are returned.
    tell : callable, optional
        Told the share done, 0 to 1.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    slugs = archive.slugs() if recordings is None else sorted(set(recordings))
    found: list[Like] = []
    not_measured = []
    for number, slug in enumerate(slugs):
        here = _in_recording(archive, slug, asked, wanted, most)
        if here is None:
            not_measured.append(slug)
        else:
            found = sorted([*found, *here], key=lambda like: -like.height)[:most]
        if tell is not None:
            tell((number + 1) / len(slugs))
    return Sought(tuple(found), len(slugs) - len(not_measured), tuple(not_measured))


def _in_recording(archive: Archive, slug: str, asked: Asked, wanted: Wanted, most: int) -> list[Like] | None:
    sounding = sounding_of(archive, slug)
    if sounding is None:
        return None
    ladders = ladders_of(archive.state(slug).recording.raga)
    grid = archive.grid(slug)
    found = []
    for each in courses(sounding, grid, by_matras=asked.example.matras is not None):
        for likeness in likenesses(asked.example, Searched(each.course, ladders), wanted, asked.ladders, most + 1):
            like = like_of(slug, each, likeness, asked.example.played_s, grid)
            if not _is_example(like, asked):
                found.append(like)
    return sorted(found, key=lambda like: -like.height)[:most]


def _is_example(like: Like, asked: Asked) -> bool:
    shared_s = min(like.end_s, asked.end_s) - max(like.start_s, asked.start_s)
    shorter_s = min(like.end_s - like.start_s, asked.end_s - asked.start_s)
    return like.recording == asked.slug and shared_s > SAME_PLACE * shorter_s
