"""What each of two people marked, from wherever it is kept: rows of one recording by who wrote them, two recordings,
files of start, end and label (CSV with a header, or lists), JAMS files.

Conventions
-----------
* Tihais and phrases say who wrote them down. Sections do not: they are taken as each person left them, that is, as
  they stood after the last revision of that person.
* A tihai lies from its first palla to its landing. The label is, unless asked otherwise, a tihai's or section's kind, a
  phrase's role.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, Literal

import pandas as pd

from annotate.archive import Archive
from annotate.csv_read import read_rows
from annotate.errors import BadAnnotation, BadTable
from annotate.exchange.label_lists_in import labels_in
from annotate.state import State
from annotate.statistics.agreement import Marks
from annotate.text_in import read_text
from theory.errors import UnknownName
from theory.names import fold

Table = Literal["tihais", "phrases", "sections"]
Label = Literal["kind", "swaras"]
"""What is compared as a label: the kind (of a tihai or section) or role (of a phrase), or the swaras as written."""

_CSV_LABELS = ("label", "role", "kind", "swaras", "section")
_COLUMNS = ["start_s", "end_s", "label"]


def marks_by(archive: Archive, slug: str, who: Sequence[str], table: Table, label: Label = "kind") -> list[Marks]:
    """Return what each of several people marked in one recording.

    Raises
    ------
    NoSuchRecording
    theory.errors.UnknownName
        Nobody of that name wrote anything there; offers who did.
    """
    if table == "sections":
        return [_sections_left_by(archive, slug, name) for name in who]
    rows = _rows(archive.state(slug), table, label)
    names = sorted({name for name in rows["who"] if name})
    found = [(name, _one_of(names, name, slug)) for name in who]
    return [Marks(name, rows.loc[rows["who"] == known, _COLUMNS]) for name, known in found]


def marks_of(archive: Archive, slug: str, table: Table, label: Label = "kind") -> Marks:
    """Return all that is marked in a recording, by whomever."""
    return Marks(slug, _rows(archive.state(slug), table, label)[_COLUMNS])


def marks_in_file(path: Path, who: str = "") -> Marks:
    """Return what a file of start, end and label holds.

    Parameters
    ----------
    path : Path
        ``.jams``; ``.csv`` with a header (start_s, end_s or landing_s, and label, role, kind, swaras or section);
        anything else as lines of start, end and label (:mod:`annotate.exchange.label_lists_in`).
    who : str
        Of a JAMS file, whose annotations; may be left out where it holds one person's.

    Raises
    ------
    BadTable
        Names the file, and row and column where there are any.
    """
    suffix = path.suffix.casefold()
    if suffix == ".jams":
        return Marks(who or path.name, _frame(path.name, _jams_rows(path, who)))
    lines = _csv_rows(path) if suffix == ".csv" else _listed(path)
    return Marks(path.name, _frame(path.name, lines))


def _rows(state: State, table: Table, label: Label) -> pd.DataFrame:
    if table == "phrases":
        rows = [
            (each.start_s, each.end_s, each.role if label == "kind" else each.swaras, each.who)
            for each in state.phrases
        ]
    elif table == "tihais":
        kept = [each for each in state.tihais if each.status != "rejected"]
        rows = [
            (each.palla_s[0], each.landing_s, each.kind if label == "kind" else each.palla, each.who) for each in kept
        ]
    else:
        rows = [(each.start_s, each.end_s, each.kind, "") for each in state.sections]
    return pd.DataFrame(rows, columns=[*_COLUMNS, "who"])


def _sections_left_by(archive: Archive, slug: str, who: str) -> Marks:
    ledger = archive.ledger(slug)
    known = _one_of(sorted({head.who for head in ledger.heads}), who, slug)
    state = ledger.state(max(head.number for head in ledger.heads if head.who == known))
    return Marks(who, _rows(state, "sections", "kind")[_COLUMNS])


def _one_of(names: Sequence[str], name: str, slug: str) -> str:
    known = next((each for each in names if fold(each) == fold(name)), None)
    if known is None:
        raise UnknownName(f"annotator of '{slug}'", name, (), known=names[:6])
    return known


def _csv_rows(path: Path) -> Iterable[tuple[int, float, float, str]]:
    for row in read_rows(path, [("start_s",), ("end_s", "landing_s"), _CSV_LABELS]):
        yield row.number, row.time_s("start_s"), row.time_s("end_s", "landing_s"), row.text(*_CSV_LABELS)


def _listed(path: Path) -> Iterable[tuple[int, float, float, str]]:
    for each in labels_in(path):
        yield each.number, each.span.start_s, each.span.end_s, each.span.label


def _jams_rows(path: Path, who: str) -> Iterable[tuple[int, float, float, str]]:
    try:
        content = json.loads(read_text(path))
        annotations = content["annotations"]
        people = [_annotator(each) for each in annotations]
    except (ValueError, RecursionError, TypeError, KeyError, AttributeError):
        raise BadTable(
            path.name, None, None, "The file is not JAMS: an object with 'annotations' was expected."
        ) from None
    names = sorted({name for name in people if name})
    if who:
        chosen = [each for each, name in zip(annotations, people, strict=True) if fold(name) == fold(who)]
    else:
        chosen = annotations if len(set(people)) == 1 else []
    if not chosen:
        raise BadTable(
            path.name, None, None, f"Whose annotations? It holds those of {', '.join(names) or 'nobody by name'}."
        )
    number = 0
    for annotation in chosen:
        for value in _observations(path, annotation):
            number += 1
            try:
                start_s, length_s = float(value["time"]), float(value["duration"])
            except (KeyError, TypeError, ValueError):
                raise BadTable(path.name, None, None, f"Observation {number} has no time and duration.") from None
            label = value.get("value")
            yield number, start_s, start_s + length_s, label if isinstance(label, str) else json.dumps(label)


def _observations(path: Path, annotation: Any) -> list[Any]:
    values = annotation.get("data") if isinstance(annotation, dict) else None
    if not isinstance(values, list) or not all(isinstance(value, dict) for value in values):
        raise BadTable(path.name, None, None, "An annotation's 'data' should be a list of observations.")
    return values


def _annotator(annotation: dict[str, Any]) -> str:
    """Return the name of who made an annotation: its annotator, else its curator."""
    note = annotation.get("annotation_metadata") or {}
    names = [(note.get(part) or {}).get("name") for part in ("annotator", "curator")]
    return next((name for name in names if isinstance(name, str) and name), "")


def _frame(file: str, rows: Iterable[tuple[int, float, float, str]]) -> pd.DataFrame:
    kept = []
    for number, start_s, end_s, label in rows:
        if not (math.isfinite(start_s) and math.isfinite(end_s)) or start_s < 0 or end_s < start_s:
            raise BadTable(file, number, None, f"It goes from {start_s} s to {end_s} s: expected 0 <= start <= end.")
        kept.append((start_s, end_s, label))
    if not kept:
        raise BadAnnotation(f"{file} holds nothing to compare.")
    return pd.DataFrame(kept, columns=_COLUMNS)
