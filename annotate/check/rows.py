"""Rows that cannot be true of their recording, by the checks that run before anything is written today."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from annotate.check.findings import Finding
from annotate.checks import check_phrase, check_tihai, refuse_outside, section_for_sam
from annotate.errors import BadAnnotation
from annotate.records import Section
from annotate.state import State
from theory.errors import LayakoshError
from theory.talas import get_tala


def findings_of(state: State) -> Iterator[Finding]:
    """Give the rows of a recording that break a check."""
    for section in state.sections:
        yield from _tried(state, f"section {section.section}", partial(_check_section, state, section))
    for sam in state.marked_sams:
        yield from _tried(state, f"sam {sam.sam}", partial(section_for_sam, state, sam.sam_s))
    for tihai in state.tihais:
        yield from _tried(state, f"tihai {tihai.tihai}", partial(check_tihai, state, tihai))
    for phrase in state.phrases:
        yield from _tried(state, f"phrase {phrase.phrase}", partial(check_phrase, state, phrase))


def _tried(state: State, row: str, check: Callable[[], object]) -> Iterator[Finding]:
    try:
        check()
    except LayakoshError as error:
        yield Finding(
            "row cannot be true",
            f"{state.slug}, {row}",
            str(error).splitlines()[0],
            "Correct it, or withdraw it; a check cannot know what was meant.",
        )


def _check_section(state: State, section: Section) -> None:
    if section.end_s <= section.start_s:
        raise BadAnnotation(f"It ends at {section.end_s:g} s, not after its start at {section.start_s:g} s.")
    refuse_outside(state, section.start_s)
    if section.tala:
        get_tala(section.tala)
