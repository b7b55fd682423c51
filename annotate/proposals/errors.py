"""Errors of proposals.

::

    annotate.errors.ArchiveError
    └── ProposalError
        ├── NothingToHear         no evidence to find tihais in, or no section with a grid
        ├── NoSuchProposal        offers the nearest keys
        └── CannotDecide          decided already, the grid has changed there, or what it says cannot be written down
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from annotate.errors import ArchiveError


class ProposalError(ArchiveError):
    """Root of the errors of this package."""


class NothingToHear(ProposalError):
    """There is nothing in which tihais could be found."""


class NoSuchProposal(ProposalError):
    """No proposal of the recording goes by that key.

    Parameters
    ----------
    key, slug : str
        What came, and the recording.
    present : sequence of str
        The keys that exist.
    """

    def __init__(self, key: str, slug: str, present: Sequence[str] = ()) -> None:
        nearest = difflib.get_close_matches(key, present, n=3, cutoff=0.6)
        hint = f"Did you mean {' or '.join(nearest)}?" if nearest else f"'layakosh propose {slug}' lists them."
        super().__init__(f"'{slug}' has no proposal '{key[:40]}'. {hint}")


class CannotDecide(ProposalError):
    """A proposal that cannot be accepted or rejected as it is."""
