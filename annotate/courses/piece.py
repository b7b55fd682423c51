"""How a piece of a chapter is written, and what there is of it now.

::

    desh-gat-in-teental/t01    a tihai of a recording; /p02 a phrase of it
    raga:desh                  a raga of the tables
    composition:fives          a composition that is kept in the archive
    exercises:tala=jhaptal     a set of exercises (:mod:`annotate.courses.exercise_sets`)

What a piece names may be withdrawn or removed after it was put into a course. That is told with what is known of it
still, and the piece stays where it is.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from annotate.archive import Archive
from annotate.compositions.shelf import Shelf
from annotate.courses.exercise_sets import read_exercises, words_of, written
from annotate.errors import NoSuchRecording, NoSuchRow, WithdrawnRecording
from annotate.labels import raga_name
from annotate.records import PhraseRecord, Record, Recording, TihaiRecord
from annotate.shelves.errors import BadThing, NoSuchThing
from annotate.slugs import is_slug
from theory.clock import format_clock
from theory.errors import LayakoshError, UnknownName
from theory.exercises.wishes import ExerciseWishes
from theory.numbers import matras
from theory.ragas import get_raga
from theory.talas import get_tala

Kind = Literal["row", "raga", "composition", "exercises"]

_HOW = (
    "Write RECORDING/ROW (desh-gat-in-teental/t01), raga:KEY (raga:desh), composition:KEY or exercises:tala=T,level=N."
)
_ROW = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
_RAGA = re.compile(r"[a-z0-9][a-z0-9-]{0,59}(?:/[a-z0-9-]{1,60})?")


@dataclass(frozen=True)
class Reference:
    """What a piece names: a row ``key`` of the recording ``where``; a raga, a composition, exercises ``key``."""

    kind: Kind
    key: str
    where: str = ""

    def __str__(self) -> str:
        return f"{self.where}/{self.key}" if self.kind == "row" else f"{self.kind}:{self.key}"


@dataclass(frozen=True)
class Found:
    """What there is of a piece.

    Attributes
    ----------
    text : str
        The piece as it is written.
    kind : str
        tihai, phrase, raga, composition, exercises; a row that nobody knows any more is "row".
    name : str
        It in words: "Tihai t01 at 0:33 of Desh, gat in teental".
    notation : str
        What is played, in sargam or bols; empty where nothing is written down.
    facts : str
        What else there is to know: tala, dam, raga.
    played_s : tuple of float, or None
        From where to where in its recording a row was played, in seconds; of a tihai to the landing stroke's onset.
    missing : str
        Why it cannot be practised now and what to do; empty where it is there.
    """

    text: str
    kind: str
    name: str
    notation: str = ""
    facts: str = ""
    played_s: tuple[float, float] | None = None
    missing: str = ""

    @property
    def reference(self) -> Reference:
        """What it names."""
        return read_piece(self.text)


def read_piece(text: str) -> Reference:
    """Read how a piece is written.

    Raises
    ------
    BadThing
        It is none; says how to write one.
    """
    plain = text.strip()
    kind, colon, key = plain.partition(":")
    if colon:
        if kind == "raga" and _RAGA.fullmatch(key.casefold()):
            return Reference("raga", key.casefold())
        if kind == "composition" and is_slug(key):
            return Reference("composition", key)
        if kind == "exercises":
            return Reference("exercises", written(read_exercises(key)))
    else:
        where, _, row = plain.partition("/")
        if is_slug(where) and _ROW.fullmatch(row):
            return Reference("row", row, where)
    raise BadThing(f"'{plain[:80]}' is no piece. {_HOW}")


def find(archive: Archive, text: str) -> Found:
    """Return what there is of a piece, whether or not it is there."""
    reference = read_piece(text)
    if reference.kind == "raga":
        return _raga(text, reference.key)
    if reference.kind == "exercises":
        return _exercises(text, read_exercises(reference.key))
    if reference.kind == "composition":
        return _composition(archive, text, reference.key)
    return _row(archive, text, reference)


def require_there(archive: Archive, text: str) -> Found:
    """Return a piece that can be practised.

    Raises
    ------
    BadThing
        It is none, or not there.
    annotate.errors.NoSuchRecording, annotate.errors.NoSuchRow, theory.errors.UnknownName, NoSuchThing
        With the nearest that there are.
    """
    reference = read_piece(text)
    if reference.kind == "raga":
        get_raga(reference.key)
    elif reference.kind == "composition":
        Shelf(archive).get(reference.key)
    elif reference.kind == "exercises":
        get_tala(read_exercises(reference.key).tala)
    else:
        rows = archive.state(reference.where).rows
        if not any(reference.key in rows[table] for table in ("tihais", "phrases")):
            there = [*rows["tihais"], *rows["phrases"]]
            raise NoSuchRow("tihai or phrase", reference.key, reference.where, there)
    found = find(archive, str(reference))
    if found.missing:
        raise BadThing(f"{text} cannot be put into a course: {found.missing}")
    return found


def _raga(text: str, key: str) -> Found:
    try:
        raga = get_raga(key)
    except UnknownName:
        return Found(text, "raga", f"Raga {key}", missing="This raga is not in the tables on this machine.")
    return Found(text, "raga", f"Raga {raga.name}", " · ".join(filter(None, (raga.aroha, raga.avaroha))))


def _exercises(text: str, wishes: ExerciseWishes) -> Found:
    try:
        tala = wishes.in_tala.name
    except LayakoshError as error:
        return Found(text, "exercises", f"Exercises in {wishes.tala}", missing=str(error))
    return Found(text, "exercises", f"Exercises in {tala}", "", words_of(wishes))


def _composition(archive: Archive, text: str, key: str) -> Found:
    try:
        kept = Shelf(archive).get(key)
    except NoSuchThing:
        return Found(text, "composition", f"Composition {key}", missing="It is not in the archive, or cannot be read.")
    composition = kept.content
    missing = "It was taken out. Under Compose it is put back." if kept.latest.withdrawn else ""
    facts = f"{get_tala(composition.tala).name}, {composition.piece.paper.sum}"
    return Found(text, "composition", composition.name, composition.palla, facts, missing=missing)


def _row(archive: Archive, text: str, reference: Reference) -> Found:
    slug, key = reference.where, reference.key
    try:
        state = archive.state(slug)
    except WithdrawnRecording:
        missing = f"Its recording was withdrawn. To have it back: layakosh bring-back {slug}"
        return _as_it_was(archive, text, reference, missing)
    except NoSuchRecording:
        return Found(text, "row", f"{key} of {slug}", missing="Its recording is not in the archive.")
    for table in ("tihais", "phrases"):
        if key in state.rows[table]:
            return _named(text, state.rows[table][key], state.recording)
    return _as_it_was(archive, text, reference, f"It was withdrawn. What became of it: layakosh history {slug} {key}")


def _as_it_was(archive: Archive, text: str, reference: Reference, missing: str) -> Found:
    """Return a row as it was before it, or its recording, was withdrawn."""
    slug, key = reference.where, reference.key
    ledger = archive.ledger(slug)
    for table in ("tihais", "phrases"):
        touched = ledger.revisions(0, table=table, key=key)
        last = [each for each in touched if any(e.key == key and e.record is not None for e in each.edits)]
        if last:
            state = ledger.state(last[-1].number)
            return _named(text, state.rows[table][key], state.recording, missing)
    return Found(text, "row", f"{key} of {slug}", missing=f"'{slug}' has no such tihai or phrase.")


def _named(text: str, record: Record, recording: Recording, missing: str = "") -> Found:
    of = recording.title or recording.slug
    raga = raga_name(recording.raga) if recording.raga else ""
    if isinstance(record, TihaiRecord):
        played_s = record.palla_s[0], record.landing_s
        name = f"Tihai {record.tihai} at {format_clock(played_s[0], 0)} of {of}"
        dam = None if record.dam is None else f"dam {matras(record.dam)}" if record.dam else "no dam"
        tala = record.tala or recording.tala
        told = ", ".join(filter(None, [raga, _tala_name(tala), dam]))
        facts = "; ".join(filter(None, [told, record.label]))
        return Found(text, "tihai", name, record.palla, facts, played_s, missing)
    if isinstance(record, PhraseRecord):
        name = f"{(record.role or 'phrase').capitalize()} {record.phrase} at {format_clock(record.start_s, 0)} of {of}"
        return Found(text, "phrase", name, record.swaras, raga, (record.start_s, record.end_s), missing)
    raise TypeError(f"{type(record).__name__} is no piece")


def _tala_name(tala: str) -> str:
    try:
        return get_tala(tala).name if tala else ""
    except UnknownName:
        return tala
