"""What a state must not become when old rows come back among newer ones: marked sams without the section they stand in.

A state that a recording once had is never refused; this is asked only where old rows and new ones meet.
"""

from __future__ import annotations

from itertools import combinations

from annotate.checks import EDGE_S
from annotate.errors import BadAnnotation
from annotate.records import MarkedSam, Section
from annotate.state import State
from theory.clock import format_clock


def refuse_unsound(before: State, after: State, instead: str) -> None:
    """Refuse what was sound and would no longer be.

    Parameters
    ----------
    before, after : State
    instead : str
        What to do, as the message ends.

    Raises
    ------
    BadAnnotation
        Marked sams would stand in no section, outside it, or in one without a tala; sections would overlap.
    """
    stray = set(_stray_sams(after)) - set(_stray_sams(before))
    if stray:
        times = ", ".join(format_clock(sam.sam_s) for sam in sorted(stray, key=lambda sam: sam.sam_s)[:6])
        counted = "1 marked sam" if len(stray) == 1 else f"{len(stray)} marked sams"
        names = ", ".join(sorted({f"'{sam.section}'" for sam in stray}))
        raise BadAnnotation(
            f"{counted} of '{after.slug}' ({times}) would not lie in the section {names} as it would then be. "
            f"Nothing was written. {instead}"
        )
    overlapping = set(_overlaps(after)) - set(_overlaps(before))
    if overlapping:
        one, other = sorted(overlapping)[0]
        raise BadAnnotation(
            f"The sections '{one}' and '{other}' of '{after.slug}' would overlap. Nothing was written. {instead}"
        )


def _stray_sams(state: State) -> list[MarkedSam]:
    by_name = {section.section: section for section in state.sections}
    return [sam for sam in state.marked_sams if not _holds(by_name.get(sam.section), sam)]


def _holds(section: Section | None, sam: MarkedSam) -> bool:
    return (
        section is not None and bool(section.tala) and section.start_s - EDGE_S <= sam.sam_s <= section.end_s + EDGE_S
    )


def _overlaps(state: State) -> list[tuple[str, str]]:
    return [
        (min(one.section, other.section), max(one.section, other.section))
        for one, other in combinations(state.sections, 2)
        if one.start_s < other.end_s and other.start_s < one.end_s
    ]
