"""The finder over the sections of a recording: only over those whose grid, evidence or melody changed since."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
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
    from ingest.finding.proposal import Proposal
    from ingest.melody import Melody

FINDER_VERSION = 1
"""Raised when finding itself changes, so that kept proposals are made again; what was learnt tells of itself."""

NO_MUSIC = ("talk", "tuning", "applause")
LEAST_MATRAS = 8


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
    folder = archive.evidence_folder(slug)
    known = store.load(folder) or Kept()
    told = mukhra if mukhra is not None or anew else known.mukhra_told
    grids = _grids(archive, slug, told)
    digests = {grid.section: digest(archive, slug, grid.section, told) for grid in grids}
    stale = [
        grid for grid in grids
        if anew or grid.section not in known.heard or known.heard[grid.section].digest != digests[grid.section]
    ]  # fmt: skip
    if not stale and set(known.heard) == set(digests):
        return known
    heard = {name: each for name, each in known.heard.items() if name in digests}
    fresh: list[Found] = []
    for grid, mukhra_found, of_section in _found(archive, slug, stale, told, tell):
        heard[grid.section] = Heard(digests[grid.section], mukhra_found)
        fresh += of_section
    names = _names()
    untouched = [
        each for each in known.found if each.section in heard and each.section not in {grid.section for grid in stale}
    ]
    again = [*untouched, *fresh]
    found = _with_keys([*again, *_decided_before(archive, slug, known, again, names)])
    present = Kept(tuple(found), {grid.section: heard[grid.section] for grid in grids}, told, names)
    store.save(folder, present)
    return present


def digest(archive: Archive, slug: str, section: str, told: int | None) -> str:
    """Return what tells that what is found in a section is stale."""
    folder = archive.evidence_folder(slug)
    grid = archive.grid(slug).digests.get(section, "")
    sa_hz = archive.state(slug).recording.sa_hz
    follows_from = [FINDER_VERSION, _learnt(), grid, melody_store.stamp(folder), sa_hz, told]
    return hashlib.sha256(json.dumps(follows_from).encode()).hexdigest()


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

    evidence = archive.evidence(slug) if grids else None
    if evidence is None:
        return
    melody, sa_hz = _melody(archive, slug)
    onsets_s = onset_times(evidence)
    lengths_s = np.array([grid.matra_s[-1] - grid.matra_s[0] for grid in grids])
    for number, grid in enumerate(grids):
        lattice = _lattice(grid, evidence, melody, sa_hz)
        findings = find(lattice, told if told is not None and told <= grid.tala.matras else None)
        mukhra = findings.mukhra.matra if findings.mukhra is not None else None
        yield grid, mukhra, [_as_found(grid, each) for each in proposals(lattice, findings, onsets_s)]
        evidence.let_go()
        if tell is not None:
            tell(float(lengths_s[: number + 1].sum() / lengths_s.sum()))


def _lattice(grid: Grid, evidence: Evidence, melody: Melody | None, sa_hz: float):  # type: ignore[no-untyped-def]
    from ingest.finding.lattice import lay_out

    positions = grid.absolute_matras
    first, last = round(positions[0]), round(positions[-1])
    matra_s = np.interp(np.arange(first, last + 1), positions, grid.matra_s)
    return lay_out(evidence, melody, sa_hz, matra_s, first, grid.tala.matras)


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


def _with_keys(found: Iterable[Found]) -> list[Found]:
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
def _learnt() -> str:
    """Digest of what the finder learnt."""
    place = files("ingest") / "data" / "finding.npz"
    return hashlib.sha256(place.read_bytes()).hexdigest() if place.is_file() else ""
