"""Marking by hand: sams, tihais and phrases, checked against the recording before anything is written.

Times are seconds from the start of the recording. Whatever fails leaves the archive as it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction

from annotate.archive import Archive
from annotate.checks import SAME_SAM_S, check_move, check_order, check_phrase, check_tihai, section_for_sam
from annotate.errors import BadMarks, ConflictingEdit
from annotate.grid import RecordingGrid
from annotate.grid_store import present_grid
from annotate.records import MarkedSam, Numbered, PhraseRecord, Status, TihaiRecord, with_key
from annotate.revisions import Edit, Revision, add, change, withdraw
from annotate.state import State, replay
from annotate.verify import section_of, simple_fraction
from theory.clock import format_clock
from theory.notation import parse
from theory.talas import get_tala
from theory.tihai import LandingRule

NUDGED = "sam nudged"
"""How the reason begins why a sam was moved by key, a little at a time: undo goes back over a run of these at once."""


def mark_sams(
    archive: Archive, slug: str, times_s: Sequence[float], *, who: str = "", why: str = "sams marked"
) -> RecordingGrid:
    """Mark sams and fit the grid again.

    A mark within a quarter of a second of an earlier mark moves that one.

    Parameters
    ----------
    archive : Archive
    slug : str
    times_s : sequence of float
        In ascending order.

    Returns
    -------
    RecordingGrid
        The grid with the marks in it.

    Raises
    ------
    BadMarks
        Out of order, outside the recording, or in no section with a tala.
    ingest.errors.ConflictingSams
        No cycle can satisfy them.
    """
    state = archive.state(slug)
    check_order(times_s)
    edits = _sam_edits(state, times_s)
    if not edits:
        return archive.grid(slug)
    commit_if_it_fits(archive, state, edits, who, why)
    return archive.grid(slug)


def move_sam(
    archive: Archive, slug: str, from_s: float, to_s: float, *, who: str = "", why: str = "sam moved"
) -> RecordingGrid:
    """Move a marked sam, however far, and fit the grid again.

    Parameters
    ----------
    from_s : float
        Where it is marked, to a quarter of a second.
    to_s : float
        Where it belongs. In another section it loses its cycle number, which counts in the old one.

    Raises
    ------
    BadMarks
        No sam is marked at ``from_s``; another stands at ``to_s``, or a numbered one would pass another; ``to_s`` is in
        no section with a tala.
    ingest.errors.ConflictingSams
        No cycle can satisfy the marks.
    """
    state = archive.state(slug)
    mark = _marked_at(state, archive.grid(slug), from_s, to_s)
    section = section_for_sam(state, to_s)
    others = [sam for sam in state.marked_sams if sam.section == section.section and sam != mark]
    check_move(mark, to_s, others)
    if mark.sam_s != to_s:
        cycle = mark.cycle if mark.section == section.section else None
        moved = replace(mark, sam_s=float(to_s), section=section.section, cycle=cycle)
        commit_if_it_fits(archive, state, [change(moved)], who, why)
    return archive.grid(slug)


def drop_sams(
    archive: Archive, slug: str, times_s: Sequence[float], *, who: str = "", why: str = "sams dropped"
) -> RecordingGrid:
    """Take marked sams away (their history stays) and fit the grid again.

    Whether a cycle satisfies the marks that are left is not asked: dropping is how marks that conflict are mended.

    Raises
    ------
    BadMarks
        No sam is marked at one of the times (to a quarter of a second), or two of them name the same one.
    """
    state, grid = archive.state(slug), archive.grid(slug)
    keys = [_marked_at(state, grid, time_s).sam for time_s in times_s]
    for time_s, key in zip(times_s, keys, strict=True):
        if keys.count(key) > 1:
            raise BadMarks(f"Two of the times name the sam marked near {format_clock(time_s)}. Give each once.")
    archive.commit(slug, [withdraw("sams", key) for key in keys], who, why, parent=state.revision)
    return archive.grid(slug)


def commit_if_it_fits(archive: Archive, state: State, edits: Sequence[Edit], who: str, why: str) -> None:
    """Commit edits made on a state, once the grid that follows from them has been tried.

    Raises
    ------
    ingest.errors.ConflictingSams
        No cycle can satisfy the marked sams as they would be. Nothing is written.
    """
    prospect = replay(state, [trial(state, edits)])
    present_grid(prospect, archive.evidence_folder(state.slug), archive.grid(state.slug), strict=True)
    archive.commit(state.slug, edits, who, why, parent=state.revision)


def record_tihai(
    archive: Archive,
    slug: str,
    *,
    palla_s: Sequence[float],
    landing_s: float,
    palla: str = "",
    dam: Fraction | None = None,
    start: Fraction | None = None,
    rule: LandingRule | str = LandingRule.WITHIN,
    target: Fraction = Fraction(1),
    tala: str = "",
    played_by: str = "",
    label: str = "",
    kind: str = "",
    status: Status = "proposed",
    who: str = "",
    why: str = "tihai written down",
) -> TihaiRecord:
    """Write a tihai down.

    Parameters
    ----------
    palla_s : sequence of float
        The start of each of the three pallas, or one value when only the interval is known.
    landing_s : float
        The landing stroke (or the interval's end).
    palla : str
        The palla as text; may be empty.
    dam, start : Fraction, optional
        As written on paper. Where they are not given and there is a palla, they are read from the grid: the simplest
        fractions that were played.
    rule, target
        See :mod:`theory.tihai`; ``target`` is a matra number, 1 for sam.
    tala : str
        The tala to count in; by default that of the section.

    Returns
    -------
    TihaiRecord
        As written, with its key.

    Raises
    ------
    BadAnnotation
        Starts that do not ascend, a landing before the third start, times outside the recording.
    theory.errors.NotationError
        The palla does not parse; shows the place.
    """
    record = TihaiRecord(
        tihai="",
        palla_s=tuple(float(each) for each in palla_s),
        landing_s=float(landing_s),
        tala=get_tala(tala).key if tala else "",
        start=start,
        palla=palla.strip(),
        dam=dam,
        rule=LandingRule(rule),
        target=target,
        played_by=played_by,
        status=status,
        label=label,
        kind=kind,
        who=who,
        at=datetime.now(UTC).replace(microsecond=0),
    )
    state = archive.state(slug)
    record = check_tihai(state, fill_in(record, archive.grid(slug)))
    return _add_numbered(archive, slug, "tihais", who, why, record)


def fill_in(record: TihaiRecord, grid: RecordingGrid) -> TihaiRecord:
    """Read start and dam from what was played, where a palla is written and they are not."""
    section = section_of(record, grid) if record.palla_s else None
    if section is None or not record.palla:
        return record
    starts = record.palla_s
    if record.dam is None and len(starts) == 3 and starts[0] < starts[2]:
        mean_matras = float(section.absolute(starts[2]) - section.absolute(starts[0])) / 2
        dam = simple_fraction(mean_matras, section.matra_length_s(starts[1])) - parse(record.palla).length
        record = replace(record, dam=dam if dam >= 0 else None)
    if record.start is None:
        _, matra = section.position(starts[0])
        nearest = simple_fraction(matra, section.matra_length_s(starts[0]))
        record = replace(record, start=(nearest - 1) % section.tala.matras + 1)
    return record


def record_phrase(
    archive: Archive,
    slug: str,
    *,
    start_s: float,
    end_s: float,
    swaras: str,
    role: str = "",
    who: str = "",
    why: str = "phrase written down",
) -> PhraseRecord:
    """Write a phrase down and return it with its key.

    Raises
    ------
    BadAnnotation
        It ends before it starts, or lies outside the recording.
    theory.errors.NotationError
        The swaras do not parse; shows the place.
    """
    at = datetime.now(UTC).replace(microsecond=0)
    record = PhraseRecord("", float(start_s), float(end_s), swaras.strip(), role.strip(), who, at)
    check_phrase(archive.state(slug), record)
    return _add_numbered(archive, slug, "phrases", who, why, record)


def _sam_edits(state: State, times_s: Sequence[float]) -> list[Edit]:
    edits: list[Edit] = []
    free = list(state.marked_sams)
    keys = iter(state.next_keys("sams", len(times_s)))
    for time_s in map(float, times_s):
        section = section_for_sam(state, time_s)
        near = [sam for sam in free if sam.section == section.section and abs(sam.sam_s - time_s) < SAME_SAM_S]
        if near:
            mark = min(near, key=lambda sam: abs(sam.sam_s - time_s))
            free.remove(mark)
            if mark.sam_s != time_s:
                edits.append(change(replace(mark, sam_s=time_s)))
        else:
            edits.append(add(MarkedSam(next(keys), section.section, time_s)))
    return edits


def _marked_at(state: State, grid: RecordingGrid, time_s: float, to_s: float | None = None) -> MarkedSam:
    """Return the marked sam nearest to a time; where none is, say what is there and what to do."""
    mark = min(state.marked_sams, key=lambda sam: abs(sam.sam_s - time_s), default=None)
    if mark is not None and abs(mark.sam_s - time_s) < SAME_SAM_S:
        return mark
    tracked_s = [sam_s for each in grid.sections for sam_s in each.sam_s.tolist() if abs(sam_s - time_s) < SAME_SAM_S]
    told = f"layakosh sam {state.slug} {'TIME' if to_s is None else format_clock(to_s)}"
    if tracked_s:
        raise BadMarks(
            f"The sam at {format_clock(tracked_s[0])} is tracked: it follows from the strokes and the marks; nobody "
            f"marked it.\nMark the sam where it is and the tracked ones follow: {told}"
        )
    nearest = f"The nearest is at {format_clock(mark.sam_s)}." if mark else f"Mark one: {told}"
    raise BadMarks(f"No sam is marked at {format_clock(time_s)}. {nearest}")


def trial(state: State, edits: Sequence[Edit]) -> Revision:
    """Return a revision that is not written, to see what a state would become."""
    return Revision(state.revision + 1, state.revision, "", datetime.now(UTC), "", tuple(edits))


def _add_numbered(archive: Archive, slug: str, table: str, who: str, why: str, record: Numbered) -> Numbered:
    """Add a record under the next free key; when somebody else took that key meanwhile, under the one after."""
    while True:
        state = archive.state(slug)
        numbered = with_key(record, state.next_keys(table, 1)[0])
        try:
            archive.commit(slug, [add(numbered)], who, why, parent=state.revision)
        except ConflictingEdit:
            continue
        return numbered
