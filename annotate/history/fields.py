"""Fields of a row set from text, by the names and in the manner of :mod:`annotate.history.words`."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any, get_args

from annotate.errors import BadAnnotation
from annotate.history.words import NOTHING, Musicians, field_word
from annotate.labels import raga_key
from annotate.musicians import read_musicians
from annotate.records import ByItself, PhraseRecord, Record, Recording, Status, TihaiRecord
from ingest.note_names import hz_of
from theory.clock import parse_clock
from theory.numbers import parse_matras
from theory.talas import get_tala
from theory.tihai import LandingRule


def with_fields(record: ByItself, told: Mapping[str, str]) -> ByItself:
    """Return a row with some of its fields set.

    Parameters
    ----------
    record : TihaiRecord, PhraseRecord or Recording
    told : mapping of str to str
        Values by field, as in ``{"dam": "1/2", "starts": "0:18,0:21,0:24"}``; empty or ``-`` empties a field.

    Raises
    ------
    BadAnnotation
        No such field; a value that is none of it.
    theory.errors.LayakoshError
        A time, a count of matras, a tala that cannot be read.
    """
    by_word = {field_word(name): name for name in _READERS[type(record)]}
    values = {}
    for word, text in told.items():
        if word not in by_word:
            near = difflib.get_close_matches(word, by_word, n=1)
            hint = f"Did you mean {near[0]}? " if near else ""
            raise BadAnnotation(f"There is no field '{word}' to set. {hint}There are {', '.join(sorted(by_word))}.")
        name, plain = by_word[word], text.strip()
        values[name] = _READERS[type(record)][name](word, "" if plain == NOTHING else plain)
    return replace(record, **values)


def _text(_word: str, text: str) -> str:
    return text


def _needed(word: str, text: str) -> str:
    if not text:
        raise BadAnnotation(f"The {word} cannot be left empty.")
    return text


def _clock(word: str, text: str) -> float:
    return parse_clock(_needed(word, text))


def _clocks(word: str, text: str) -> tuple[float, ...]:
    return tuple(parse_clock(part) for part in _needed(word, text).split(","))


def _matras(word: str, text: str) -> Any:
    return parse_matras(_needed(word, text))


def _matras_or_none(_word: str, text: str) -> Any:
    return parse_matras(text) if text else None


def _day_or_none(word: str, text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise BadAnnotation(f"The day under '{word}' is written as 2026-01-31; '{text}' came.") from None


def _tala(_word: str, text: str) -> str:
    return get_tala(text).key if text else ""


def _raga(_word: str, text: str) -> str:
    return raga_key(text) if text else ""


def _sa(_word: str, text: str) -> float | None:
    return hz_of(text) if text else None


def _one_of(*known: str) -> Callable[[str, str], str]:
    def read(word: str, text: str) -> str:
        if text not in known:
            raise BadAnnotation(f"The {word} is {' or '.join(known)}; '{text}' came.")
        return text

    return read


def _rule(word: str, text: str) -> LandingRule:
    return LandingRule(_one_of(*(rule.value for rule in LandingRule))(word, text))


def _musicians(_word: str, text: str) -> Musicians:
    return read_musicians(text)


_READERS: dict[type[Record], dict[str, Callable[[str, str], Any]]] = {
    TihaiRecord: {
        "palla_s": _clocks,
        "landing_s": _clock,
        "tala": _tala,
        "start": _matras_or_none,
        "palla": _text,
        "dam": _matras_or_none,
        "rule": _rule,
        "target": _matras,
        "played_by": _text,
        "status": _one_of(*get_args(Status)),
        "label": _text,
        "kind": _text,
    },
    PhraseRecord: {"start_s": _clock, "end_s": _clock, "swaras": _needed, "role": _text},
    Recording: {
        "title": _needed,
        "performed_on": _day_or_none,
        "venue": _text,
        "raga": _raga,
        "tala": _tala,
        "lead": _text,
        "sa_hz": _sa,
        "musicians": _musicians,
        "notes": _text,
    },
}
"""How each field that a person sets is read; what follows from the sound is not among them."""
