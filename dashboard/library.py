"""The archive as pages read it: with the verdicts of each recording kept until its next revision.

Conventions: everything is read again when a recording's revision has changed, so what the command line writes is seen
when a page is next drawn. One object serves all threads: what is kept are values, replaced whole.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from annotate.archive import Archive
from annotate.verify import Verdict, verify_recording


@dataclass
class Library:
    """An open archive and its verdicts."""

    archive: Archive
    _verdicts: dict[str, tuple[int, list[Verdict]]] = field(default_factory=dict, repr=False)

    def verdicts(self, slug: str) -> list[Verdict]:
        """Return a verdict for every tihai of a recording that is not rejected, in order of time."""
        revision = self.archive.state(slug).revision
        known = self._verdicts.get(slug)
        if known is None or known[0] != revision:
            known = (revision, verify_recording(self.archive, slug))
            self._verdicts[slug] = known
        return known[1]
