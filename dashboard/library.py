"""The archive as pages read it: with the verdicts of each recording kept until its next revision.

Conventions: everything is read again when a recording's revision has changed, so what the command line writes is seen
when a page is next drawn. One object serves all threads: what is kept are values, replaced whole.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from annotate.archive import Archive
from annotate.verify import Verdict, verify_recording
from dashboard import folded
from dashboard.folded import Fold
from dashboard.heard import Heard, stamp_of

FOLDS_KEPT = 12
"""Recordings whose rows are kept ready: some 3 MB each for an hour."""


@dataclass
class Library:
    """An open archive, its verdicts, and the recordings that people have open, folded."""

    archive: Archive
    _verdicts: dict[str, tuple[int, list[Verdict]]] = field(default_factory=dict, repr=False)
    _folds: dict[str, Fold] = field(default_factory=dict, repr=False)

    def verdicts(self, slug: str) -> list[Verdict]:
        """Return a verdict for every tihai of a recording that is not rejected, in order of time."""
        revision = self.archive.state(slug).revision
        known = self._verdicts.get(slug)
        if known is None or known[0] != revision:
            known = (revision, verify_recording(self.archive, slug))
            self._verdicts[slug] = known
        return known[1]

    def version(self, slug: str) -> str:
        """Return a text that changes with every revision of a recording and whenever its sound is measured anew.

        Raises
        ------
        annotate.errors.NoSuchRecording
        """
        return f"{self.archive.state(slug).revision} {stamp_of(self.archive, slug)}"

    def fold(self, slug: str) -> Fold:
        """Return a recording folded at sam, as of its latest revision.

        Raises
        ------
        annotate.errors.NoSuchRecording
        """
        version = self.version(slug)
        known = self._folds.get(slug)
        if known is None or known.version != version:
            stamp = stamp_of(self.archive, slug), self.archive.state(slug).recording.sa_hz
            heard = known.heard if known is not None and known.heard.stamp == stamp else Heard(self.archive, slug)
            known = folded.fold(self.archive, slug, version, self.verdicts(slug), heard)
            kept = [(name, each) for name, each in self._folds.items() if name != slug]
            self._folds = dict([*kept[1 - FOLDS_KEPT :], (slug, known)])
        return known
