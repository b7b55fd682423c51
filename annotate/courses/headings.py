"""How deep the headings of notes stand beneath a chapter's heading, whatever signs they were written with.

A page's headings go down by one level at a time; notes may begin with any and leave some out.
"""

from __future__ import annotations

DEEPEST = 6
"""HTML has no deeper heading."""


class Depths:
    """Gives the headings of notes, in order, the levels at which they stand on a page.

    Parameters
    ----------
    beneath : int
        The level of the heading that the notes stand under; 2 for an ``h2``.
    """

    def __init__(self, beneath: int) -> None:
        self._beneath = beneath
        self._open: list[int] = []

    def level(self, written: int) -> int:
        """Return the level of the next heading, which is written with so many signs."""
        while self._open and self._open[-1] >= written:
            self._open.pop()
        self._open.append(written)
        return min(self._beneath + len(self._open), DEEPEST)
