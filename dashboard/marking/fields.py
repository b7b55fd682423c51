"""The fields of a row as its form shows them: labels, values as people write them, choices.

Conventions: a field goes by the word of :func:`annotate.history.words.field_word`; its value is a text (a list of texts
for times of several pallas). A form sends back only what was changed, so that no digit is lost that it does not show.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, get_args

from annotate.history.words import NOTHING, field_word, value_words
from annotate.records import PhraseRecord, Record, Section, Status, TihaiRecord
from dashboard import words
from dashboard.glossary import meaning
from ingest.kind_names import KINDS
from theory.clock import format_clock
from theory.talas import all_talas


@dataclass(frozen=True)
class Field:
    """A field of a form. ``kind`` is ``time``, ``times``, ``notation``, ``text``, ``choice`` or ``suggested``."""

    name: str
    label: str
    kind: str = "text"
    hint: str = ""

    @property
    def word(self) -> str:
        """What the field goes by."""
        return field_word(self.name)


_TALA = Field("tala", "Tala", "suggested")
FIELDS: dict[type[Record], tuple[Field, ...]] = {
    TihaiRecord: (
        Field("palla_s", "Pallas begin at", "times"),
        Field("landing_s", "Lands at", "time"),
        Field("palla", "Palla", "notation", "One word a matra; sargam or bols."),
        Field("dam", "Dam", hint="The pause between two pallas, in matras; 0 for none."),
        Field("start", "Starts on", hint="A matra of the tala; sam is 1."),
        Field("target", "Aims at", hint="A matra of the tala; sam is 1."),
        Field("rule", "Landing rule", "choice"),
        _TALA,
        Field("kind", "Kind"),
        Field("played_by", "Played by"),
        Field("label", "Label"),
        Field("status", "Status", "choice", "Proposed: to be listened to again. Rejected: no tihai; it is not drawn."),
    ),
    PhraseRecord: (
        Field("start_s", "From", "time"),
        Field("end_s", "To", "time"),
        Field("swaras", "Swaras", "notation", "One word a matra."),
        Field("role", "Role", hint="Mukhra, sthayi, antara, tan, pakad, or words of your own."),
    ),
    Section: (
        Field("kind", "Kind", "suggested"),
        _TALA,
        Field("start_s", "From", "time"),
        Field("end_s", "To", "time"),
    ),
}


def form_of(record: Record) -> list[dict[str, Any]]:
    """Return the fields of a row with what stands in them."""
    return [
        {
            "word": field.word,
            "label": field.label,
            "kind": field.kind,
            "hint": field.hint or meaning(field.label),
            "value": _value(field, getattr(record, field.name)),
            "options": _options(record, field),
        }
        for field in FIELDS[type(record)]
    ]


def label_of(record_type: type[Record], name: str) -> str:
    """Return the label of a field, or what it is called elsewhere where no form shows it."""
    return next((each.label for each in FIELDS.get(record_type, ()) if each.name == name), field_word(name))


def _value(field: Field, value: Any) -> str | list[str]:
    if field.kind == "times":
        return [_clock(time_s) for time_s in value]
    if field.kind == "time":
        return _clock(value)
    told = value_words(field.name, value)
    return "" if told == NOTHING else told


def _clock(time_s: float) -> str:
    return format_clock(time_s, 3)


def _options(record: Record, field: Field) -> Sequence[tuple[str, str]]:
    """Values and their words: of a choice all there are, of suggestions those that come to mind first."""
    match field.name:
        case "rule":
            return [(rule.value, text) for rule, text in words.RULES.items()]
        case "status":
            return [(each, each) for each in get_args(Status)]
        case "tala":
            return [(tala.key, tala.name) for tala in all_talas()]
        case "kind" if isinstance(record, Section):
            return [(kind, kind) for kind in KINDS]
    return []
