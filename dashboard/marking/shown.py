"""What is marked, as the panel lists it: rows, their history, versions that differ, what undo would do."""

from __future__ import annotations

from typing import Any

from annotate.archive import Archive
from annotate.errors import BothChanged, ConflictingEdit, NoSuchRow
from annotate.history.as_of import Plan
from annotate.history.changes import RowChange
from annotate.history.points import moment_words
from annotate.history.taking_back import Step, can_redo, can_undo
from annotate.history.timeline import Entry, history
from annotate.history.words import differing, field_word, row_words, words_apart
from annotate.records import WORD_FOR, PhraseRecord, Record, Section, TihaiRecord
from dashboard import words
from dashboard.access.at_hand import at_hand
from dashboard.library import Library
from dashboard.marking.fields import form_of, label_of
from theory.clock import format_clock

WHO = "dashboard"
"""Signs edits where nobody has to log in."""
EDITED = ("tihais", "phrases", "sections")
"""Tables whose rows have a form."""
MOST_ENTRIES = 100


def marked(library: Library, slug: str) -> dict[str, Any]:
    """Return what is marked, in order of time, and for who may edit what undo and redo would do.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    archive = library.archive
    state = archive.state(slug)
    verdicts = {each.tihai: words.WORDS[each.verdict] for each in library.verdicts(slug)}
    last = archive.ledger(slug).heads[-1]
    content: dict[str, Any] = {
        "revision": state.revision,
        "last": {"who": by(last.who), "why": last.why},
        "sams": [
            {"key": each.sam, "at_s": each.sam_s, "words": format_clock(each.sam_s)} for each in state.marked_sams
        ],
        "tihais": [
            {
                "key": each.tihai,
                "at_s": each.palla_s[0],
                "words": _tihai_words(each, verdicts.get(each.tihai, "")),
                "proposed": each.status == "proposed",
            }
            for each in state.tihais
        ],
        "phrases": [{"key": each.phrase, "at_s": each.start_s, "words": _phrase_words(each)} for each in state.phrases],
        "sections": [
            {"key": each.section, "at_s": each.start_s, "words": _section_words(each)} for each in state.sections
        ],
    }
    if at_hand().may_edit:
        who = archive.signature(WHO)
        content["undo"] = _step_words(can_undo(archive, slug, who))
        content["redo"] = _step_words(can_redo(archive, slug, who))
    return content


def by(who: str) -> str:
    """Return whose an edit is, as a sentence begins; where nobody has to log in, another window has no name."""
    return "Another window" if who == WHO else who or "Somebody"


def _tihai_words(record: TihaiRecord, verdict: str) -> str:
    status = record.status if record.status != "confirmed" else ""
    return ", ".join(filter(None, [format_clock(record.palla_s[0], 1), record.palla, verdict, status]))


def _phrase_words(record: PhraseRecord) -> str:
    return ", ".join(filter(None, [format_clock(record.start_s, 1), record.swaras, record.role]))


def _section_words(record: Section) -> str:
    return ", ".join(
        filter(
            None,
            [f"{format_clock(record.start_s, 0)} to {format_clock(record.end_s, 0)}", words.tala_name(record.tala)],
        )
    )


def _step_words(step: Step | None) -> str:
    return (step.edit.why or f"revision {step.edit.number}") if step is not None else ""


def row_in(archive: Archive, slug: str, table: str, key: str) -> Record:
    """Return a row of the present state.

    Raises
    ------
    annotate.errors.NoSuchRow
        There is none, or the table's rows have no form.
    """
    present = archive.state(slug).rows.get(table, {}) if table in EDITED else {}
    if key not in present:
        raise NoSuchRow(WORD_FOR.get(table, "row"), key, slug, list(present))
    return present[key]


def row_form(archive: Archive, slug: str, table: str, key: str) -> dict[str, Any]:
    """Return a row as its form shows it, and the revision on which it was looked at."""
    revision = archive.state(slug).revision
    record = row_in(archive, slug, table, key)
    return {
        "table": table,
        "key": key,
        "seen": revision,
        "title": f"{WORD_FOR[table]} {key}",
        "fields": form_of(record),
    }


def entries(archive: Archive, slug: str, table: str, key: str) -> list[dict[str, Any]]:
    """Return the latest revisions, newest first: who, when, why, and what each changed.

    Raises
    ------
    annotate.errors.NoSuchRecording
        Also of a recording that has been withdrawn.
    """
    archive.state(slug)
    found = history(archive, slug, table=table, key=key, most=MOST_ENTRIES)
    return [_entry(each) for each in reversed(found)]


def _entry(entry: Entry) -> dict[str, Any]:
    head = entry.head
    return {
        "revision": head.number,
        "who": head.who or "somebody",
        "when": moment_words(head.when),
        "why": head.why,
        "taken_back": bool(entry.taken_back_by),
        "changes": sentences(entry.changes),
    }


def sentences(changes: tuple[RowChange, ...], most: int = 8) -> list[str]:
    """Return changes in words, a few of many."""
    told = [each.sentence for each in changes[:most]]
    return told if len(changes) <= most else [*told, f"and {len(changes) - most} more"]


def planned(made: Plan) -> dict[str, Any]:
    """Return what going back would change."""
    return {
        "seen": made.latest,
        "revision": made.number,
        "changes": sentences(made.changes),
        "count": len(made.changes),
    }


def conflict_of(error: ConflictingEdit) -> dict[str, Any]:
    """Return both versions of a row that somebody else changed first, side by side."""
    was = error.was if isinstance(error, BothChanged) else None
    versions = {"was": was, "theirs": error.theirs, "mine": error.mine}
    there = [each for each in versions.values() if each is not None]
    rows = []
    for name in differing(there) if error.theirs is not None and len(there) > 1 else []:
        if name not in ("who", "at"):
            told = iter(words_apart(name, [getattr(each, name) for each in there]))
            rows.append(
                {
                    "word": field_word(name),
                    "label": label_of(type(there[0]), name),
                    **{which: next(told) for which, each in versions.items() if each is not None},
                }
            )
    return {
        "table": error.table,
        "key": error.key,
        "who": by(error.who),
        "when": error.when,
        "revision": error.their_revision,
        "gone": error.theirs is None,
        "theirs": row_words(error.theirs),
        "mine": row_words(error.mine),
        "rows": rows,
    }
