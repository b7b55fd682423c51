"""Sections by hand: what each holds, and changing, splitting and joining them with their marked sams.

Conventions: times are seconds from the start of the recording. A name is a key: a section that changes its kind keeps
its name, and no name is given twice. What a person has changed counts as theirs (``source`` is then ``person``). An
edit that the marked sams cannot follow is refused, and the archive stays as it was.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from annotate.archive import Archive
from annotate.checks import EDGE_S, SAME_SAM_S, refuse_outside
from annotate.errors import BadAnnotation, NoSuchRow
from annotate.grid import Grid
from annotate.marking import commit_if_it_fits
from annotate.records import MarkedSam, Section
from annotate.revisions import Edit, add, change, withdraw
from annotate.state import State
from ingest.kind_names import KINDS as HEARD_KINDS
from theory.clock import format_clock
from theory.talas import get_tala

NO_TALA = "none"
"""What a person writes for a section that has no tala."""


@dataclass(frozen=True)
class SectionSummary:
    """A section with what the grid knows of it.

    ``cycles`` counts the avartans that lie whole in it, ``laya_mpm`` is its mean laya in matras a minute; both are None
    where no grid is known: no tala, no strokes heard, or fewer than two sams and no sound.
    """

    section: Section
    cycles: int | None
    laya_mpm: float | None

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        each = self.section
        return {
            "section": each.section,
            "kind": each.kind,
            "tala": each.tala,
            "start_s": each.start_s,
            "end_s": each.end_s,
            "source": each.source,
            "cycles": self.cycles,
            "laya_mpm": self.laya_mpm,
        }


def summaries(archive: Archive, slug: str) -> list[SectionSummary]:
    """Return the sections of a recording in order of time."""
    grids = {grid.section: grid for grid in archive.grid(slug).sections}
    return [_summary(section, grids.get(section.section)) for section in archive.state(slug).sections]


def _summary(section: Section, grid: Grid | None) -> SectionSummary:
    if grid is None:
        return SectionSummary(section, None, None)
    _, matras = np.unique(grid.cycle, return_counts=True)
    whole = int((matras == grid.tala.matras).sum())
    pace_s = (grid.matra_s[-1] - grid.matra_s[0]) / (grid.absolute_matras[-1] - grid.absolute_matras[0])
    return SectionSummary(section, whole, float(60 / pace_s))


def change_section(
    archive: Archive,
    slug: str,
    name: str,
    *,
    kind: str | None = None,
    tala: str | None = None,
    start_s: float | None = None,
    end_s: float | None = None,
    who: str = "",
    why: str = "section changed",
) -> Section:
    """Change what is said of a section; what is None stays. A change that changes nothing writes nothing.

    Parameters
    ----------
    tala : str, optional
        Name of a tala; ``"none"`` or an empty text takes it away.

    Raises
    ------
    NoSuchRow
        The recording has no such section.
    BadAnnotation
        The section would end before it starts, overlap another, or leave marked sams outside or without a tala.
    theory.errors.UnknownName
        No such tala.
    """
    state = archive.state(slug)
    old = _named(state, name)
    new = replace(
        _described(old, kind, tala),
        start_s=old.start_s if start_s is None else float(start_s),
        end_s=old.end_s if end_s is None else float(end_s),
    )
    if new == old:
        return old
    new = replace(new, source="person")
    _check_limits(state, old, new)
    _check_sams(slug, new, _sams_of(state, old))
    commit_if_it_fits(archive, state, [change(new)], who, why)
    return new


def split_section(
    archive: Archive,
    slug: str,
    name: str,
    at_s: float,
    *,
    kind: str | None = None,
    tala: str | None = None,
    who: str = "",
    why: str = "section split",
) -> tuple[Section, Section]:
    """Split a section in two. The first part keeps the name; sams marked from ``at_s`` on go over to the second.

    Parameters
    ----------
    kind, tala : str, optional
        Of the second part; as before by default.

    Returns
    -------
    tuple of Section
        The two parts. The second is called after its kind.

    Raises
    ------
    NoSuchRow, BadAnnotation, theory.errors.UnknownName
        As in :func:`change_section`; ``at_s`` lies outside the section.
    """
    state = archive.state(slug)
    old = _named(state, name)
    if not old.start_s < at_s < old.end_s:
        raise BadAnnotation(
            f"'{old.section}' lasts from {_span(old)}; {format_clock(at_s)} does not divide it. Give a time inside it."
        )
    first = replace(old, end_s=float(at_s), source="person")
    second = replace(_described(old, kind, tala), start_s=float(at_s), source="person")
    second = replace(second, section=_free_name(archive, slug, second.kind))
    moved = [sam for sam in _sams_of(state, old) if sam.sam_s >= at_s]
    _check_sams(slug, second, moved)
    edits = [change(first), add(second), *(change(replace(sam, section=second.section)) for sam in moved)]
    commit_if_it_fits(archive, state, edits, who, why)
    return first, second


def join_section(archive: Archive, slug: str, name: str, *, who: str = "", why: str = "sections joined") -> Section:
    """Join a section with the one that follows it, and return the whole, which keeps the first one's name and kind.

    A gap between the two becomes part of it. The second one's marked sams come along; where their cycle numbers do not
    go on from the first one's, they are counted on from there.

    Raises
    ------
    NoSuchRow
        The recording has no such section.
    BadAnnotation
        No section follows, or it is in another tala.
    """
    state = archive.state(slug)
    first = _named(state, name)
    following = state.sections[state.sections.index(first) + 1 :]
    if not following:
        raise BadAnnotation(
            f"No section follows '{first.section}', so it cannot be joined. Name the earlier one of the two."
        )
    second = following[0]
    if first.tala != second.tala:
        bare, tala = (first, second.tala) if not first.tala else (second, first.tala)
        raise BadAnnotation(
            f"'{first.section}' is in {first.tala or 'no tala'} and '{second.section}' in {second.tala or 'no tala'}. "
            f"Give both the same first: {_command(slug, '--set', bare.section, '--tala', tala)}"
        )
    whole = replace(first, end_s=max(first.end_s, second.end_s), source="person")
    sams = _joined_sams(_sams_of(state, first), _sams_of(state, second), first.section)
    commit_if_it_fits(archive, state, [change(whole), withdraw("sections", second.section), *sams], who, why)
    return whole


def _joined_sams(before: Sequence[MarkedSam], after: Sequence[MarkedSam], section: str) -> list[Edit]:
    """Bring marks over; one that both sections have, where they touch, is kept once."""
    twice = [sam for sam in after if before and sam.sam_s - before[-1].sam_s < SAME_SAM_S]
    kept = [sam for sam in after if sam not in twice]
    shift = _number_shift(before, kept)
    moved = [replace(sam, section=section, cycle=None if sam.cycle is None else sam.cycle + shift) for sam in kept]
    return [*(withdraw("sams", sam.sam) for sam in twice), *(change(sam) for sam in moved)]


def _number_shift(before: Sequence[MarkedSam], after: Sequence[MarkedSam]) -> int:
    """Return what to add to the later cycle numbers so that they go on from the earlier ones; 0 when they do."""
    earlier = [(place, sam.cycle) for place, sam in enumerate(reversed(before)) if sam.cycle is not None]
    later = [(place, sam.cycle) for place, sam in enumerate(after) if sam.cycle is not None]
    if not earlier or not later:
        return 0
    due = earlier[0][1] + earlier[0][0] + 1 + later[0][0]
    return max(0, due - later[0][1])


def _described(section: Section, kind: str | None, tala: str | None) -> Section:
    if kind is not None:
        if not kind.strip():
            raise BadAnnotation(f"The kind is empty. Write {', '.join(HEARD_KINDS)}, or words of your own.")
        section = replace(section, kind=kind.strip())
    if tala is not None:
        without = tala.strip().casefold() in ("", NO_TALA)
        section = replace(section, tala="" if without else get_tala(tala).key)
    return section


def _named(state: State, name: str) -> Section:
    for section in state.sections:
        if section.section == name:
            return section
    alike = [section for section in state.sections if section.section.casefold() == name.strip().casefold()]
    if len(alike) != 1:
        raise NoSuchRow("section", name, state.slug, [section.section for section in state.sections])
    return alike[0]


def _free_name(archive: Archive, slug: str, kind: str) -> str:
    """Return the kind, or the kind with the first number that no section has ever had."""
    spent = archive.ledger(slug).keys("sections")
    name, number = kind, 2
    while name in spent:
        name, number = f"{kind} {number}", number + 1
    return name


def _check_limits(state: State, old: Section, new: Section) -> None:
    """Refuse limits that are out of order or outside the recording, and an overlap that was not there before."""
    if new.end_s <= new.start_s:
        raise BadAnnotation(
            f"'{new.section}' would end at {format_clock(new.end_s)}, not after its start at "
            f"{format_clock(new.start_s)}. Give both with --from and --to."
        )
    for time_s, before_s in ((new.start_s, old.start_s), (new.end_s, old.end_s)):
        if time_s != before_s:
            refuse_outside(state, time_s)
    for other in state.sections:
        if other.section == new.section or not _overlap(other, new) or _overlap(other, old):
            continue
        option, time_s = ("--to", new.start_s) if other.start_s < new.start_s else ("--from", new.end_s)
        raise BadAnnotation(
            f"'{new.section}' would overlap '{other.section}' ({_span(other)}). Make room first: "
            f"{_command(state.slug, '--set', other.section, option, format_clock(time_s))}"
        )


def _overlap(one: Section, other: Section) -> bool:
    return one.start_s < other.end_s and other.start_s < one.end_s


def _check_sams(slug: str, section: Section, sams: Sequence[MarkedSam]) -> None:
    """Refuse a section that cannot hold its marked sams."""
    if section.tala:
        left = [s for s in sams if not section.start_s - EDGE_S <= s.sam_s <= section.end_s + EDGE_S]
        why, instead = f"would lie outside '{section.section}', {_span(section)}", "choose limits that hold them"
    else:
        left, why, instead = list(sams), f"stand in '{section.section}', which would have no tala", "keep the tala"
    if left:
        times = " ".join(format_clock(sam.sam_s) for sam in left[:6]) + (" ..." if len(left) > 6 else "")
        counted = "1 marked sam" if len(left) == 1 else f"{len(left)} marked sams"
        raise BadAnnotation(
            f"{counted} {why}. Drop what is no sam, or {instead}:\n  layakosh sam {shlex.quote(slug)} drop {times}"
        )


def _sams_of(state: State, section: Section) -> list[MarkedSam]:
    return [sam for sam in state.marked_sams if sam.section == section.section]


def _span(section: Section) -> str:
    return f"{format_clock(section.start_s)} to {format_clock(section.end_s)}"


def _command(slug: str, *rest: str) -> str:
    return shlex.join(["layakosh", "sections", slug, *rest])
