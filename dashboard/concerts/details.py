"""What is said of a performance: its form, its history, and how changes are written.

Conventions: fields go by the words of :func:`annotate.history.words.field_word`, values are texts as people write them.
``seen`` is the revision on which somebody looked at what they change.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from annotate.history.fields import with_fields
from annotate.history.merging import Keep, change_merging
from annotate.history.words import NOTHING, field_word, value_words
from annotate.records import Recording
from dashboard import words
from dashboard.access.at_hand import at_hand
from dashboard.concerts.listed import suggestions
from dashboard.concerts.next_steps import steps_of
from dashboard.library import Library
from dashboard.marking.shown import WHO, entries

FIELDS = (
    ("title", "Title", "", "text"),
    ("raga", "Raga", "One of the list, or a name of your own.", "raga"),
    ("performed_on", "Date", "", "date"),
    ("venue", "Venue", "", "text"),
    ("lead", "Lead", "The instrument or voice that leads.", "text"),
    ("musicians", "Musicians", "Who plays what: mandolin: Asha Rao, tabla: Bela Sen; or Asha Rao (mandolin).", "wide"),
    ("sa_hz", "Sa", "In Hz, or as a note name: 146.8, D3.", "text"),
    ("notes", "Notes", "", "long"),
)
"""Name, label, hint and kind of each field that has a place in the form."""


def shown(library: Library, slug: str) -> dict[str, Any]:
    """Return what the page of a performance's details shows.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    state = library.archive.state(slug)
    recording = state.recording
    return {
        "slug": slug,
        "title": recording.title or slug,
        "seen": state.revision,
        "may_edit": at_hand().may_edit,
        "fields": [_field(recording, *field) for field in FIELDS],
        "steps": steps_of(library, slug),
        "files": [(file.name, file.role) for file in recording.files],
        "length": words.length(recording.duration_s),
        "history": entries(library.archive, slug, "recordings", slug),
        "known_ragas": suggestions()["known_ragas"],
    }


def write(library: Library, slug: str, told: Mapping[str, str], seen: int, keep: Keep = "") -> str:
    """Write changes, together with what others have changed since; return a sentence that says what was done.

    Raises
    ------
    annotate.errors.BothChanged
        Somebody else changed the same meanwhile. Nothing is written.
    theory.errors.LayakoshError
        A field that cannot be read.
    """
    archive = library.archive
    row = ("recordings", slug)
    was = archive.ledger(slug).state(seen or archive.state(slug).revision, {row}).rows["recordings"][slug]
    mine = with_fields(cast(Recording, was), told)
    if mine == was:
        return "Nothing was changed."
    why = f"{', '.join(told)} changed"
    written = change_merging(archive, slug, mine, who=WHO, why=why, seen=seen, keep=keep)
    theirs = ", ".join(map(field_word, written.merged.theirs))
    if not written.revision:
        return "Theirs is kept; nothing was left to write."
    return "Saved." + (f" What somebody else changed meanwhile is kept too: {theirs}." if theirs else "")


def _field(recording: Recording, name: str, label: str, hint: str, kind: str) -> dict[str, Any]:
    value = getattr(recording, name)
    text = words.raga_name(value) if name == "raga" else value_words(name, value)
    return {
        "word": field_word(name),
        "label": label,
        "hint": hint,
        "kind": kind,
        "value": "" if text == NOTHING else text,
    }
