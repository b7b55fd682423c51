"""The tables of truth beside each recording, in the format that ``layakosh load`` reads, and ``concerts.toml``.

Conventions: times in seconds to the millisecond; matras as n/d. The sams are the players' common pulse, about which
strokes scatter.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from sample_data.playing import Rendition, line_passages
from theory.numbers import stored

Row = Sequence[object]


def tables(rendition: Rendition) -> dict[str, str]:
    """The tables of one performance.

    Parameters
    ----------
    rendition : Rendition

    Returns
    -------
    dict of str to str
        File name to the text of the CSV.
    """
    name = rendition.performance.name
    return {
        f"{name}_sections.csv": _csv(("section", "kind", "start_s", "end_s", "tala"), _sections(rendition)),
        f"{name}_sams.csv": _csv(("section", "cycle", "sam_s"), _sams(rendition)),
        f"{name}_tihais.csv": _csv(
            ("tihai", "start_s", "second_s", "third_s", "landing_s", "palla", "dam", "start", "rule", "target",
             "played_by", "label"),
            _tihais(rendition),
        ),
        f"{name}_phrases.csv": _csv(("phrase", "start_s", "end_s", "swaras", "role"), _phrases(rendition)),
        f"{name}_verdicts.csv": _csv(("tihai", "lands_on_paper", "verdict", "landing_dev_ms"), _verdicts(rendition)),
    }  # fmt: skip


def concerts_toml(renditions: Iterable[Rendition]) -> str:
    """The list of performances: who, where, when, and the files of each."""
    out = ["# Made by sample_data/render.py: invented performances. File names are relative to this folder."]
    for rendition in renditions:
        p = rendition.performance
        musicians = ", ".join(f'{{ role = "{role}", name = "{who}" }}' for role, who in p.musicians)
        out += [
            "",
            "[[concert]]",
            f'name = "{p.name}"',
            f'title = "{p.title}"',
            f"performed_on = {p.performed_on}",
            f'venue = "{p.venue}"',
            f'raga = "{p.raga}"',
            f'tala = "{p.tala}"',
            f'lead = "{p.musicians[0][0]}"',
            f"musicians = [{musicians}]",
            f"sa_hz = {p.sa_hz}",
            f"duration_s = {rendition.part.duration_s:.3f}",
            f'audio = "{p.name}.ogg"',
            *(f'{table} = "{p.name}_{table}.csv"' for table in ("sections", "sams", "tihais", "phrases", "verdicts")),
            f'notes = "{p.notes}"',
        ]
    return "\n".join(out) + "\n"


def write(folder: Path, files: dict[str, str]) -> None:
    """Write texts into a folder, each file replaced whole."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        unfinished = folder / f"{name}.part"
        unfinished.write_text(text, encoding="utf-8", newline="\n")
        unfinished.replace(folder / name)


def _sections(rendition: Rendition) -> list[Row]:
    gat_s, end_s = rendition.gat_starts_s, rendition.part.duration_s
    return [
        ("alap", "alap", _seconds(0.0), _seconds(gat_s - 0.1), ""),
        ("gat", "gat", _seconds(gat_s - 0.1), _seconds(end_s), rendition.tala.key),
    ]


def _sams(rendition: Rendition) -> list[Row]:
    cycles = range(1, rendition.performance.cycles + 2)
    return [("gat", cycle, _seconds(rendition.clock.time_s(rendition.position(cycle, 1)))) for cycle in cycles]


def _tihais(rendition: Rendition) -> list[Row]:
    rows: list[Row] = []
    for number, played in enumerate(rendition.tihais, start=1):
        plan = played.plan
        times = (*played.palla_s, played.landing_s)
        rows.append((
            f"t{number:02d}", *(_seconds(at) for at in times), plan.palla, stored(plan.dam), stored(plan.matra),
            plan.rule.value, stored(plan.target), plan.played_by, plan.label,
        ))  # fmt: skip
    return rows


def _phrases(rendition: Rendition) -> list[Row]:
    found: list[tuple[float, float, str, str]] = [
        (free.start_s, free.end_s, free.swaras, free.role) for free in rendition.alap
    ]
    at_s = {note.position: note.onset_s for note in rendition.melody}
    for line, passage in line_passages(rendition.performance.lines):
        start = rendition.position(line.cycle, line.matra)
        start_s = at_s[start + passage.onsets[0]]
        found.append((start_s, rendition.clock.time_s(start + passage.length), line.swaras, line.role))
    return [
        (f"p{number:02d}", _seconds(start_s), _seconds(end_s), swaras, role)
        for number, (start_s, end_s, swaras, role) in enumerate(sorted(found), start=1)
    ]


def _verdicts(rendition: Rendition) -> list[Row]:
    rows: list[Row] = []
    for number, played in enumerate(rendition.tihais, start=1):
        plan = played.plan
        place = plan.matra - 1 + plan.landing_offset - (plan.target - 1)
        lands = "true" if place % rendition.tala.matras == 0 else "false"
        dev_ms = (played.landing_s - played.target_s) * 1000
        rows.append((f"t{number:02d}", lands, plan.verdict, f"{dev_ms:.0f}"))
    return rows


def _seconds(at_s: float) -> str:
    return f"{at_s:.3f}"


def _csv(header: Sequence[str], rows: Iterable[Row]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return text.getvalue()
