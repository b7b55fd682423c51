"""The finder over the sections of a recording: only over those whose grid, evidence or melody changed since."""

from __future__ import annotations

import contextlib
import hashlib
import json
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np

from annotate import evidence_store, melody_store
from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.grid import Grid
from annotate.proposals import kept as store
from annotate.proposals.errors import NothingToHear
from annotate.proposals.kept import Heard, Kept
from annotate.proposals.proposed import Found
from annotate.proposals.written import same, span_of_found, written_as
from annotate.swaras import melody_of, middle_sa_of

if TYPE_CHECKING:
    from ingest.evidence import Evidence
    from ingest.finding.lattice import Lattice
    from ingest.finding.proposal import Proposal
    from ingest.melody import Melody

NO_MUSIC = ("talk", "tuning", "applause")
LEAST_MATRAS = 8
_finding = threading.Lock()
"""A section laid out takes some 100 MB: one thread finds at a time, and the others see what it found."""


def up_to_date(
    archive: Archive,
    slug: str,
    *,
    anew: bool = False,
    mukhra: int | None = None,
    tell: Callable[[float], None] | None = None,
) -> Kept:
    """Return what is found in a recording, found again where it is stale, and kept.

    Raises
    ------
    NothingToHear, BadAnnotation, NoSuchRecording
    """
    to_do = _look(archive, slug, anew, mukhra)
    if to_do.is_done:
        return to_do.known
    with _finding:
        _follow_melody(archive, slug)
        to_do = _look(archive, slug, anew, mukhra)
        return to_do.known if to_do.is_done else _find_again(archive, slug, to_do, tell)


def digest_of(archive: Archive, slug: str, told: int | None) -> dict[str, str]:
    """Return, by section, what tells that what is found in it is stale."""
    grids = archive.grid(slug).digests
    melody, sa_hz = melody_store.stamp(archive.evidence_folder(slug)), archive.state(slug).recording.sa_hz
    shared = [finder_digest(), melody, sa_hz, told]
    return {
        grid.section: hashlib.sha256(json.dumps([*shared, grids.get(grid.section, "")]).encode()).hexdigest()
        for grid in sections_heard(archive, slug)
    }


@dataclass(frozen=True, eq=False)
class _ToDo:
    """What is known of a recording, which sections are to be looked at again, and what all of it would follow from."""

    known: Kept
    told: int | None
    digests: dict[str, str]
    stale: list[Grid]

    @property
    def is_done(self) -> bool:
        return not self.stale and set(self.known.heard) == set(self.digests)


def _look(archive: Archive, slug: str, anew: bool, mukhra: int | None) -> _ToDo:
    known = store.load(archive.evidence_folder(slug)) or Kept()
    told = mukhra if mukhra is not None or anew else known.mukhra_told
    grids = _grids(archive, slug, told)
    digests = digest_of(archive, slug, told)
    before = {section: each.digest for section, each in known.heard.items()}
    stale = [grid for grid in grids if anew or before.get(grid.section) != digests[grid.section]]
    return _ToDo(known, told, digests, stale)


def _find_again(archive: Archive, slug: str, to_do: _ToDo, tell: Callable[[float], None] | None) -> Kept:
    heard = {section: each for section, each in to_do.known.heard.items() if section in to_do.digests}
    again = {grid.section for grid in to_do.stale}
    found = [each for each in to_do.known.found if each.section in heard and each.section not in again and each.still]
    for grid, mukhra, of_section in _found(archive, slug, to_do.stale, to_do.told, tell):
        heard[grid.section] = Heard(to_do.digests[grid.section], mukhra)
        found += of_section
    names = _names()
    found += _decided_before(archive, slug, to_do.known, found, names)
    present = Kept(tuple(with_keys(found)), {name: heard[name] for name in to_do.digests}, to_do.told, names)
    with contextlib.suppress(OSError):  # read-only: found again by whoever asks next
        store.save(archive.evidence_folder(slug), present)
    return present


def sections_heard(archive: Archive, slug: str) -> list[Grid]:
    """Return the grids of the sections in which tihais are looked for."""
    kinds = {section.section: section.kind for section in archive.state(slug).sections}
    return [
        grid
        for grid in archive.grid(slug).sections
        if kinds.get(grid.section) not in NO_MUSIC and len(grid.matra_s) > LEAST_MATRAS
    ]


def _grids(archive: Archive, slug: str, told: int | None) -> list[Grid]:
    archive.state(slug)
    if not evidence_store.stamp(archive.evidence_folder(slug)):
        raise NothingToHear(
            f"Nothing was measured of the sound of '{slug}', so no tihai can be found in it. Take its sound file in: "
            "layakosh ingest AUDIO --raga R --tala T, or, where the archive keeps its sound: "
            f"layakosh listen-again {slug}"
        )
    grids = sections_heard(archive, slug)
    if not grids:
        raise NothingToHear(
            f"'{slug}' has no section with a tala in which sams are known. See layakosh sections {slug}, and name a "
            f"sam or two: layakosh sam {slug} TIME"
        )
    longest = max(grid.tala.matras for grid in grids)
    if told is not None and not 1 <= told <= longest:
        raise BadAnnotation(f"The mukhra cannot begin on matra {told}: the tala has {longest}, and sam is 1.")
    return grids


def _found(
    archive: Archive, slug: str, grids: Sequence[Grid], told: int | None, tell: Callable[[float], None] | None
) -> Iterable[tuple[Grid, int | None, list[Found]]]:
    """Find in every section, telling the share done; what is in memory of one is let go before the next."""
    from ingest.finding.find import find
    from ingest.finding.proposal import proposals
    from ingest.onset_times import onset_times

    if not grids:
        return
    evidence = archive.evidence(slug)
    if evidence is None:
        raise NothingToHear(
            f"What was measured of '{slug}' cannot be read: it is damaged or of another version. Measure it again: "
            f"layakosh listen-again {slug}"
        )
    told_share = tell or (lambda _share: None)
    told_share(0.0)
    melody, sa_hz = _melody(archive, slug)
    onsets_s = onset_times(evidence)
    lengths_s = np.array([grid.matra_s[-1] - grid.matra_s[0] for grid in grids])
    for number, grid in enumerate(grids):
        lattice = _lattice(grid, evidence, melody, sa_hz)
        findings = find(lattice, told if told is not None and told <= grid.tala.matras else None)
        mukhra = findings.mukhra.matra if findings.mukhra is not None else None
        yield grid, mukhra, [_as_found(grid, each) for each in proposals(lattice, findings, onsets_s)]
        evidence.let_go()
        told_share(float(lengths_s[: number + 1].sum() / lengths_s.sum()))


def _lattice(grid: Grid, evidence: Evidence, melody: Melody | None, sa_hz: float) -> Lattice:
    from ingest.finding.lattice import lay_out

    positions = grid.absolute_matras
    first, last = round(positions[0]), round(positions[-1])
    matra_s = np.interp(np.arange(first, last + 1), positions, grid.matra_s)
    return lay_out(evidence, melody, sa_hz, matra_s, first, grid.tala.matras)


def _follow_melody(archive: Archive, slug: str) -> None:
    """Follow the melody where it was not yet, before what follows from it is looked at."""
    with contextlib.suppress(BadAnnotation):  # no sound is kept: the tabla and the plucks are there all the same
        melody_of(archive, slug)


def _melody(archive: Archive, slug: str) -> tuple[Melody | None, float]:
    """The melody and its Sa; None where it was not followed and no sound is kept, or Sa is not known."""
    try:
        melody = melody_of(archive, slug)
        return melody, middle_sa_of(archive, slug, melody)
    except BadAnnotation:
        return None, 1.0


def _as_found(grid: Grid, proposal: Proposal) -> Found:
    return Found("", grid.section, grid.tala.key, proposal)


def _decided_before(
    archive: Archive, slug: str, known: Kept, again: Sequence[Found], names: tuple[str, ...]
) -> list[Found]:
    """What was decided on and is not found any more: its measures are kept, since there is something to learn in it."""
    tihais = archive.state(slug).tihais
    spans = [span_of_found(each) for each in again]
    kept = []
    for each in known.found:
        here = span_of_found(each)
        if written_as(here, tihais) is None or any(same(here, other) for other in spans):
            continue
        measures = _by_name(each.proposal.measures, known.names, names)
        kept.append(replace(each, proposal=replace(each.proposal, measures=measures), still=False))
    return kept


def _by_name(measures: np.ndarray, before: tuple[str, ...], now: tuple[str, ...]) -> np.ndarray:
    """Measures in the order of today's finder; what it measures and an earlier one did not is not a number."""
    if before == now:
        return measures
    value = dict(zip(before, measures, strict=True))
    return np.array([value.get(name, np.nan) for name in now], np.float32)


def with_keys(found: Iterable[Found]) -> list[Found]:
    """The likeliest first, each with the key of its landing; of several in a tenth of a second: b, c ..."""
    ordered = sorted(found, key=lambda each: (-each.proposal.confidence, each.proposal.landing_s))
    taken: set[str] = set()
    keyed = []
    for each in ordered:
        key = base = f"p{each.proposal.landing_s:.1f}"
        letter = ord("b")
        while key in taken:
            key, letter = f"{base}{chr(letter)}", letter + 1
        taken.add(key)
        keyed.append(replace(each, key=key))
    return keyed


def _names() -> tuple[str, ...]:
    from ingest.finding.close_look import NAMES

    return NAMES


@cache
def finder_digest() -> str:
    """Return a digest of the finder: its code and what it learnt."""
    place = files("ingest")
    parts = [each for each in (place / "finding").iterdir() if each.name.endswith(".py")]
    parts += [each for each in (place / "data").iterdir() if each.name == "finding.npz"]
    return hashlib.sha256(b"".join(each.read_bytes() for each in sorted(parts, key=lambda each: each.name))).hexdigest()
