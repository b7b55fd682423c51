"""From the archive to the data of the folded page.

Aim: gather grid, evidence, tihais and phrases of one recording and hand them to :mod:`dashboard.figures.fold`. Whole
for the Cycles page, or only the rows that a passage runs through.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from annotate.archive import Archive
from annotate.grid import Grid, RecordingGrid
from annotate.records import PhraseRecord, Section, TihaiRecord
from annotate.state import State
from annotate.verify import Verdict, section_of
from dashboard.figures.fold import FREE_COLUMN_S, FREE_COLUMNS, Row, Stretch, add_strokes, fold_rows, tala_data
from dashboard.figures.runs import PhraseRun, TihaiRun, add_phrases, add_tihais
from dashboard.figures.strokes import needles
from dashboard.words import landing_words, tihai_title
from theory.errors import LayakoshError
from theory.notation import parse
from theory.passage import EMPTY
from theory.talas import get_tala

_AROUND_S = 1.5  # heard before the first palla and after the landing of a passage


def fold_data(archive: Archive, slug: str, verdicts: list[Verdict], at_s: float | None = None) -> dict[str, Any]:
    """Return what ``assets/window/folded.mjs`` shows: the whole recording in rows.

    Parameters
    ----------
    archive : Archive
    slug : str
        An existing recording.
    verdicts : list of Verdict
        Of this recording's tihais.
    at_s : float, optional
        Where the page opens.
    """
    state, grid = archive.state(slug), archive.grid(slug)
    stretches = _stretches(state, grid.sections)
    duration_s = state.recording.duration_s or max((stretch.end_s for stretch in stretches), default=0.0)
    rows = fold_rows(stretches, duration_s)
    _mark_sams(rows, state, stretches)
    evidence = archive.evidence(slug)
    if evidence is not None:
        add_strokes(rows, "treble", *needles(evidence.treble, evidence.hop_s))
        add_strokes(rows, "bass", *needles(evidence.bass, evidence.hop_s))
    add_phrases(rows, [_phrase_run(phrase) for phrase in state.phrases])
    by_key = {verdict.tihai: verdict for verdict in verdicts}
    add_tihais(
        rows,
        [_tihai_run(slug, each, by_key.get(each.tihai), grid) for each in state.tihais if each.status != "rejected"],
    )
    return {
        "slug": slug,
        "duration_s": duration_s,
        "at_s": at_s,
        "passage": None,
        "talas": {stretch.tala.key: tala_data(stretch.tala) for stretch in stretches if stretch.tala is not None},
        "stretches": [_stretch_data(stretch) for stretch in stretches],
        "rows": rows,
    }


def passage_data(data: dict[str, Any], record: TihaiRecord) -> dict[str, Any]:
    """Keep of :func:`fold_data` the rows that a tihai runs through; playing stops where it ends."""
    from_s, to_s = record.palla_s[0] - _AROUND_S, record.landing_s + _AROUND_S
    rows = [
        row for row in data["rows"] if row["t"][-1] > record.palla_s[0] and row["t"][0] < record.landing_s + _AROUND_S
    ]
    rows = [
        row
        | {
            name: [each for each in row[name] if each["id"] == record.tihai]
            for name in ("pallas", "links", "landings", "aims")
        }
        for row in rows
    ]
    passage = {"from_s": max(from_s, 0.0), "to_s": min(to_s, data["duration_s"])}
    return data | {"rows": rows, "passage": passage, "at_s": passage["from_s"]}


def _stretches(state: State, grids: tuple[Grid, ...]) -> list[Stretch]:
    by_name = {grid.section: grid for grid in grids}
    stretches: list[Stretch] = []
    for section in state.sections:
        # a section that begins inside the one before it is shown from where that one ends
        start_s = max(section.start_s, stretches[-1].end_s if stretches else 0.0)
        if section.end_s > start_s:
            stretches.append(_stretch(section, start_s, by_name.get(section.section)))
    return stretches


def _stretch(section: Section, start_s: float, grid: Grid | None) -> Stretch:
    tala = get_tala(section.tala) if section.tala else None
    unnamed = tala is not None and tala.name.casefold() not in section.section.casefold()
    title = f"{section.section}, {tala.name}" if tala is not None and unnamed else section.section
    if grid is None:
        return Stretch(title if tala is None else f"{title} (no sam known yet)", start_s, section.end_s)
    kept = grid.matra_s >= start_s
    return Stretch(title, start_s, section.end_s, grid.tala, grid.cycle[kept], grid.matra[kept], grid.matra_s[kept])


def _stretch_data(stretch: Stretch) -> dict[str, Any]:
    if stretch.tala is None or len(stretch.matra_s) < 2:
        return {"title": stretch.title, "tala": None, "columns": FREE_COLUMNS, "column_s": FREE_COLUMN_S, "laya": ""}
    per_minute = 60 / float(np.median(np.diff(stretch.matra_s)))
    return {
        "title": stretch.title,
        "tala": stretch.tala.key,
        "columns": stretch.tala.matras,
        "laya": f"{per_minute:.0f} matras a minute" if per_minute >= 20 else f"{per_minute:.1f} matras a minute",
    }


def _mark_sams(rows: list[Row], state: State, stretches: list[Stretch]) -> None:
    marked = np.array([sam.sam_s for sam in state.marked_sams])
    for row in rows:
        if row["stretch"] >= 0 and stretches[row["stretch"]].tala is not None and row["first"] == 1:
            # a marked sam comes back from the fit exactly; the row's times are kept to a tenth of a millisecond
            row["marked"] = bool(np.any(np.abs(marked - row["t"][0]) < 1e-3))


def _tihai_run(slug: str, record: TihaiRecord, verdict: Verdict | None, grid: RecordingGrid) -> TihaiRun:
    try:
        palla = parse(record.palla) if record.palla else None
    except LayakoshError:
        palla = None
    return TihaiRun(
        tihai=record.tihai,
        palla_s=record.palla_s,
        landing_s=record.landing_s,
        palla_matras=palla.length if palla is not None else None,
        notes=tuple((note.onset, note.symbol) for note in palla.notes) if palla is not None else (),
        status=record.status,
        title=f"{tihai_title(record)}. {verdict.sentence}" if verdict is not None else tihai_title(record),
        verdict=verdict.verdict if verdict is not None else "unknown",
        landing_text=landing_words(verdict) if verdict is not None else record.tihai,
        href=f"/tihais/{slug}/{record.tihai}",
        aim_s=_aim_s(record, verdict, grid),
    )


def _aim_s(record: TihaiRecord, verdict: Verdict | None, grid: RecordingGrid) -> float | None:
    section = section_of(record, grid)
    if verdict is None or section is None or verdict.verdict in ("lands", "unknown"):
        return None
    return section.nearest_occurrence(record.landing_s, record.target)[1]


def _phrase_run(record: PhraseRecord) -> PhraseRun:
    try:
        passage = parse(record.swaras)
    except LayakoshError:
        passage = EMPTY
    notes = tuple((float(note.onset / passage.length), note.symbol) for note in passage.notes)
    return PhraseRun(record.phrase, record.start_s, record.end_s, record.swaras, record.role, notes)
