"""The archive as pages read it: with the verdicts of each recording kept until its next revision.

Conventions: everything is read again when a recording's revision has changed, so what the command line writes is seen
when a page is next drawn. One object serves all threads: what is kept are values, replaced whole.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

from annotate.archive import Archive
from annotate.overview import Overview, overviews
from annotate.proposals import kept as proposals_kept
from annotate.proposals.proposing import waiting
from annotate.records import Recording, TihaiRecord
from annotate.verify import Verdict, section_of, tala_of, verify
from dashboard import folded
from dashboard.folded import Fold
from dashboard.heard import Heard, stamp_of

FOLDS_KEPT = 12
"""Recordings whose rows are kept ready: some 3 MB each for an hour."""


@dataclass(frozen=True, eq=False)
class _Follows:
    """What a verdict follows from: the tihai, the recording, and the grid of its section, told by its digest."""

    record: TihaiRecord
    recording: Recording
    digest: str

    def is_like(self, other: _Follows) -> bool:
        """Whether the same verdict follows. A record that no edit touched is the same object from state to state."""
        same = self.record is other.record and self.recording is other.recording
        return same and self.digest == other.digest


@dataclass(frozen=True, eq=False)
class _Verdicts:
    version: str
    told: dict[str, tuple[_Follows, Verdict]]


@dataclass
class Library:
    """An open archive, its verdicts, and the recordings that people have open, folded."""

    archive: Archive
    _verdicts: dict[str, _Verdicts] = field(default_factory=dict, repr=False)
    _folds: dict[str, Fold] = field(default_factory=dict, repr=False)
    _waiting: dict[str, tuple[str, int | None]] = field(default_factory=dict, repr=False)
    _counting: threading.Lock = field(default_factory=threading.Lock, repr=False)
    _folding: threading.Lock = field(default_factory=threading.Lock, repr=False)
    reading_tables: threading.Lock = field(default_factory=threading.Lock, repr=False)
    """Held by a page that reads tables of the whole archive, so that several people's are not in memory at once."""
    _overviews: tuple[dict[str, tuple[int, str]], list[Overview]] | None = field(default=None, repr=False)

    def overviews(self) -> list[Overview]:
        """Return an overview of every recording, in order of slugs, counted again when something was written.

        With ten thousand of them a look for what was written takes a tenth of a second, counting a second.
        """
        with self._counting, self.archive.one_look():
            seen = {slug: (each.revision, each.evidence) for slug, each in self.archive.seen().items()}
            known = self._overviews
            if known is None or known[0] != seen:
                known = self._overviews = seen, overviews(self.archive)
            return known[1]

    def verdicts(self, slug: str) -> list[Verdict]:
        """Return a verdict for every tihai of a recording that is not rejected, in order of time."""
        version = self.version(slug)
        known = self._verdicts.get(slug)
        if known is None or known.version != version:
            known = self._verify(slug, version, known.told if known is not None else {})
            self._verdicts[slug] = known
        return [verdict for _, verdict in known.told.values()]

    def _verify(self, slug: str, version: str, told: dict[str, tuple[_Follows, Verdict]]) -> _Verdicts:
        """Verify the tihais of a recording; of those that nothing has changed for, the verdict told earlier stands."""
        state, grid = self.archive.state(slug), self.archive.grid(slug)
        fresh: dict[str, tuple[_Follows, Verdict]] = {}
        for each in state.tihais:
            if each.status == "rejected":
                continue
            section = section_of(each, grid)
            digest = grid.digests.get(section.section, "") if section is not None else ""
            follows = _Follows(each, state.recording, digest)
            earlier = told.get(each.tihai)
            if earlier is None or not earlier[0].is_like(follows):
                earlier = follows, verify(each, grid, tala_of(each, grid, state.recording), slug)
            fresh[each.tihai] = earlier
        return _Verdicts(version, fresh)

    def waiting(self, slug: str) -> int | None:
        """Return how many proposed tihais of a recording wait for somebody's word; None where nobody looked for any.

        Raises
        ------
        annotate.errors.NoSuchRecording
        """
        stamp = proposals_kept.stamp(self.archive.evidence_folder(slug))
        if not stamp:
            return None
        version = f"{self.version(slug)} {stamp}"
        known = self._waiting.get(slug)
        if known is None or known[0] != version:
            known = self._waiting[slug] = version, waiting(self.archive, slug)
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
        if known is not None and known.version == version:
            return known
        with self._folding:  # one at a time: people at the same concert ask all at once after each edit
            return self._folded(slug)

    def _folded(self, slug: str) -> Fold:
        version = self.version(slug)
        known = self._folds.get(slug)
        if known is None or known.version != version:
            stamp = stamp_of(self.archive, slug), self.archive.state(slug).recording.sa_hz
            heard = known.heard if known is not None and known.heard.stamp == stamp else Heard(self.archive, slug)
            known = folded.fold(self.archive, slug, version, self.verdicts(slug), heard)
            kept = [(name, each) for name, each in self._folds.items() if name != slug]
            self._folds = dict([*kept[1 - FOLDS_KEPT :], (slug, known)])
        return known
