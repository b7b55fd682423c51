"""Where a section could as well be read at half or twice the laya: what a person may choose instead, and how.

The choice is made by marking two sams of the other reading, neighbours of each other: marked sams hold, and the laya
follows from them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from annotate import evidence_store
from annotate.archive import Archive
from theory.talas import get_tala

SETTLED_BY = 2
"""A section with so many marked sams has been read by a person."""


@dataclass(frozen=True)
class OtherReading:
    """Another laya for a section: matras a minute as followed and as it could be, and two sams that choose it.

    ``behind`` is by how much it is borne out less, per matra as followed (natural logarithm of likelihood): the
    smaller, the closer the two are.
    """

    section: str
    laya_mpm: float
    other_mpm: float
    sams_s: tuple[float, float]
    behind: float

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


def other_readings(archive: Archive, slug: str, progress: Callable[[float], None] | None = None) -> list[OtherReading]:
    """Return the other layas that come near, closest first; none where two sams or more are marked.

    Parameters
    ----------
    archive : Archive
    slug : str
    progress : callable, optional
        Called with the share done, 0 to 1: every section is followed three times.
    """
    from ingest.cycle import fit_cycle
    from ingest.errors import IngestError
    from ingest.readings import other_layas

    state = archive.state(slug)
    evidence = evidence_store.load(archive.evidence_folder(slug))
    found: list[OtherReading] = []
    if evidence is None:
        return found
    for number, section in enumerate(state.sections):
        marked = sum(sam.section == section.section for sam in state.marked_sams)
        if section.tala and marked < SETTLED_BY:
            tala = get_tala(section.tala)
            try:
                fit = fit_cycle(evidence, section.start_s, section.end_s, tala)
                others = other_layas(evidence, section.start_s, section.end_s, tala, fit)
            except IngestError:
                others = []  # nothing is followed there, so nothing else either
            for other in others:
                if len(other.fit.sam_s) >= SETTLED_BY:
                    middle = len(other.fit.sam_s) // 2 - 1
                    one_s, next_s = other.fit.sam_s[middle : middle + 2].tolist()
                    found.append(
                        OtherReading(
                            section.section,
                            _mpm(fit.matra_s),
                            _mpm(other.fit.matra_s),
                            (round(one_s, 3), round(next_s, 3)),
                            (fit.score - other.score) / len(fit.matra_s),
                        )
                    )
        if progress is not None:
            progress((number + 1) / len(state.sections))
    return sorted(found, key=lambda reading: reading.behind)


def _mpm(matra_s: np.ndarray) -> float:
    return float(60 / np.median(np.diff(matra_s)))
