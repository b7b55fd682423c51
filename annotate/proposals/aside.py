"""Proposing in a process of its own, so that whoever serves others keeps neither its memory nor its time."""

from __future__ import annotations

from collections.abc import Callable

from annotate.archive import Archive
from annotate.proposals.proposing import propose


def propose_aside(archive: str, slug: str, anew: bool, mukhra: int | None, tell: Callable[[float], None]) -> int:
    """Propose, for `annotate.beside.Beside`; return how many wait.

    Parameters
    ----------
    archive : str
        Where the archive is.
    slug : str
    anew, mukhra, tell
        As for `annotate.proposals.proposing.propose`.

    Raises
    ------
    As `annotate.proposals.proposing.propose`.
    """
    every = propose(Archive.open(archive), slug, anew=anew, mukhra=mukhra, tell=tell)
    return sum(each.status == "waiting" for each in every)
