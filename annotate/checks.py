"""What cannot be true of a recording: checks that run before anything is written.

Times are seconds from the start of the recording.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from annotate.errors import BadAnnotation, BadMarks
from annotate.records import MarkedSam, PhraseRecord, Section, TihaiRecord
from annotate.state import State
from annotate.verify import paper_check
from theory.clock import format_clock
from theory.notation import parse
from theory.numbers import spoken
from theory.talas import Tala, get_tala

SAME_SAM_S = 0.25
"""A mark nearer than this to an earlier one corrects it: no avartan is that short, and no second try that far off."""

EDGE_S = 0.25
"""How far outside its section a sam may lie: the last sam closes the section, and its end is marked by hand too (in the
published concert of ``tests/published/`` the last vilambit sam comes 14 ms after the section's end)."""


def check_order(times_s: Sequence[float]) -> None:
    """Refuse marks that do not ascend, or stand nearer together than any avartan is long."""
    if not times_s:
        raise BadMarks("No sam was given. Give the time of at least one, in seconds or as m:ss.")
    for earlier, later in pairwise(times_s):
        if later <= earlier:
            raise BadMarks(
                f"Sam marks are out of order: {format_clock(later)} stands after {format_clock(earlier)}. "
                "Give them in ascending order."
            )
        if later - earlier < SAME_SAM_S:
            raise BadMarks(
                f"The sam marks {format_clock(earlier)} and {format_clock(later)} are "
                f"{1000 * (later - earlier):.0f} ms apart; no avartan is that short. Leave one of them out."
            )


def check_move(mark: MarkedSam, to_s: float, others: Sequence[MarkedSam]) -> None:
    """Refuse to move a mark onto another of its section, or, where it is numbered, past another."""
    for other in others:
        if abs(other.sam_s - to_s) < SAME_SAM_S:
            raise BadMarks(
                f"A sam is marked at {format_clock(other.sam_s)} already. Drop one of the two, or move that one first."
            )
        passed = min(mark.sam_s, to_s) < other.sam_s < max(mark.sam_s, to_s)
        if passed and mark.cycle is not None and mark.section == other.section:
            raise BadMarks(
                f"The sam at {format_clock(mark.sam_s)} is numbered {mark.cycle} and would pass the one at "
                f"{format_clock(other.sam_s)}. Drop it, and mark the other place anew."
            )


def section_for_sam(state: State, time_s: float) -> Section:
    """Return the section that a sam belongs to, or raise :class:`~annotate.errors.BadMarks`."""
    refuse_outside(state, time_s, BadMarks)
    section = state.section_at(time_s, with_tala=True, slack_s=EDGE_S)
    if section is None:
        here = state.section_at(time_s)
        where = f"in '{here.section}' ({here.kind}), which has no tala" if here else "in no section"
        counted = [each for each in state.sections if each.tala]
        hint = "; ".join(f"{format_clock(each.start_s)} to {format_clock(each.end_s)}" for each in counted[:4])
        advice = f"Sections with a tala: {hint}." if hint else "Load sections with a tala first."
        raise BadMarks(f"The sam mark {format_clock(time_s)} falls {where}. {advice}")
    return section


def refuse_outside(state: State, time_s: float, error: type[BadAnnotation] = BadAnnotation) -> None:
    """Refuse a time before the start or after the end of the recording."""
    duration_s = state.recording.duration_s
    if not 0 <= time_s < float("inf"):
        raise error(f"{time_s} s is not a time in a recording.")
    if duration_s is not None and time_s > duration_s:
        raise error(
            f"{format_clock(time_s)} lies after the end of '{state.slug}', which is {format_clock(duration_s)} long. "
            "Are the times in seconds?"
        )


def check_tihai(state: State, record: TihaiRecord) -> TihaiRecord:
    """Refuse a tihai that cannot be true of the recording; return it with its tala filled in from the section."""
    starts = record.palla_s
    if len(starts) not in (1, 3):
        raise BadAnnotation(
            f"A tihai has three palla starts, or one when only its interval is known; {len(starts)} came."
        )
    for earlier, later in pairwise(starts):
        if later <= earlier:
            raise BadAnnotation(
                f"Palla starts are out of order: {format_clock(later)} stands after {format_clock(earlier)}. "
                "Give the first, second and third in ascending order."
            )
    if record.landing_s <= starts[-1]:
        which = "third palla" if len(starts) == 3 else "start"
        raise BadAnnotation(
            f"The landing at {format_clock(record.landing_s)} comes before the {which} at {format_clock(starts[-1])}. "
            "The landing is the last stroke of the tihai."
        )
    for time_s in (*starts, record.landing_s):
        refuse_outside(state, time_s)
    section = state.section_at(starts[0], with_tala=True) or state.section_at(record.landing_s, with_tala=True)
    if not record.tala and section is not None:
        record = replace(record, tala=section.tala)
    _check_paper(record, get_tala(record.tala) if record.tala else None)
    return record


def check_phrase(state: State, record: PhraseRecord) -> None:
    """Refuse a phrase that cannot be true of the recording."""
    if record.end_s <= record.start_s:
        raise BadAnnotation(
            f"The phrase ends at {format_clock(record.end_s)}, not after its start at {format_clock(record.start_s)}. "
            "Are the two exchanged?"
        )
    for time_s in (record.start_s, record.end_s):
        refuse_outside(state, time_s)
    if not parse(record.swaras).notes:
        raise BadAnnotation("The phrase has no swara. Write them as 'R m P n D P'.")


def _check_paper(record: TihaiRecord, tala: Tala | None) -> None:
    """Let theory refuse what cannot be written: a palla that does not parse, a start outside the tala."""
    if record.palla:
        parse(record.palla)
    if record.dam is not None and record.dam < 0:
        raise BadAnnotation(f"A dam of {spoken(record.dam)} matras is less than nothing. Write 0 when there is none.")
    if tala is not None:
        for said, matra in (("starts on", record.start), ("aims at", record.target)):
            if matra is not None and not 1 <= matra < tala.matras + 1:
                raise BadAnnotation(
                    f"It {said} matra {spoken(matra)}, which {tala.name} has not: it has {tala.matras}, and sam is 1."
                )
    paper_check(record, tala)
