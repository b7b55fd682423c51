"""Which revision and evidence of each recording is the latest, without listing ten thousand folders each time.

The store tells cheaply where something may have been created since (:meth:`annotate.store.base.Store.stamps`); only
there it is looked again. What was seen is kept by the archive object, and with the index between processes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from annotate import evidence_store, revisions
from annotate.slugs import is_slug
from annotate.store.base import Stamp, Store
from annotate.store.folder import Folder

_INSIDE = ("revisions", "evidence")


@dataclass(frozen=True)
class Seen:
    """What a look at a recording has shown: its latest revision, the stamp of its evidence, whether it is withdrawn.

    It holds as long as the store gives the same stamp for the recording's folder, and ``settled`` says that it can.
    """

    stamp: str
    settled: bool
    revision: int
    evidence: str
    withdrawn: bool = False


def look(store: Store, known: Mapping[str, Seen]) -> dict[str, Seen]:
    """Return what is there now of every recording that has a revision, by slug in order."""
    found: dict[str, Seen] = {}
    for slug, stamp in sorted(store.stamps("recordings", _INSIDE).items()):
        if not is_slug(slug):
            continue
        seen = known.get(slug)
        if seen is None or not (seen.settled and stamp.settled and seen.stamp == stamp.text):
            seen = _look_at(store, slug, stamp, seen)
        if seen.revision > 0:
            found[slug] = seen
    return found


def _look_at(store: Store, slug: str, stamp: Stamp, known: Seen | None) -> Seen:
    """Look at one recording."""
    folder = Folder(store, f"recordings/{slug}")
    latest = revisions.latest_number(folder / "revisions")
    same = known is not None and known.revision == latest
    withdrawn = known.withdrawn if same and known is not None else revisions.withdraws_all(folder / "revisions", latest)
    return Seen(stamp.text, stamp.settled, latest, evidence_store.stamp(folder / "evidence"), withdrawn)
