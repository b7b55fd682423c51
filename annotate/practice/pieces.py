"""What practice material is made of: a tihai or a phrase of a recording, and how it was played there.

Conventions: a piece is written ``RECORDING/ROW``, such as ``desh-gat-in-teental/t01`` or ``.../p02``; several rows of
one recording with commas, ``desh-gat-in-teental/t01,t03``. Times are seconds from the start of the recording, matras
are Fractions. Only what is written down can be practised: of a tihai its palla and dam, of a phrase its swaras.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

from annotate.archive import Archive
from annotate.errors import NoSuchRow
from annotate.exchange.score import Score, of_phrase, of_tihai
from annotate.grid import Grid
from annotate.practice.errors import BadPiece
from annotate.records import PhraseRecord, Recording, TihaiRecord
from annotate.state import State
from annotate.verify import section_of, tala_of, tolerance_at
from theory.errors import NotationError
from theory.notation import parse
from theory.passage import Passage
from theory.talas import Tala
from theory.tihai import Tihai, flat

Script = Literal["sargam", "bols"]
Table = Literal["tihais", "phrases"]

_HOW = "Write RECORDING/ROW, such as desh-gat-in-teental/t01; several rows of it as t01,t03."


@dataclass(frozen=True)
class Piece:
    """A tihai or a phrase to practise. One of ``tihai`` and ``phrase`` is None.

    Attributes
    ----------
    slug, key : str
        The recording, and the row in it.
    name : str
        It in words: "Tihai t02 of Desh, gat in teental".
    recording : Recording
        Whose performance it is.
    raga : str
        The raga's key, or free text; '' where it is not known.
    tala : Tala or None
        What it is counted in; None outside any tala (alap).
    start : Fraction
        The matra it begins on: as written, else as played, the nearest simple fraction; 1 outside any tala.
    sa_hz : float or None
        The recording's Sa.
    per_minute : float or None
        The laya in which it was played, in matras a minute; None for a phrase outside any tala.
    start_s, end_s : float
        As played. A tihai ends with the *onset* of its landing stroke, which rings on.
    tihai : TihaiRecord or None
    phrase : PhraseRecord or None
    script : {"sargam", "bols"}
        What it is written in.
    sam_s : tuple of float
        The sams around it as played, in order: from the last one before it begins to the first one after it ends;
        empty where no grid is known.
    """

    slug: str
    key: str
    name: str
    recording: Recording
    raga: str
    tala: Tala | None
    start: Fraction
    sa_hz: float | None
    per_minute: float | None
    start_s: float
    end_s: float
    tihai: TihaiRecord | None
    phrase: PhraseRecord | None
    script: Script
    sam_s: tuple[float, ...]

    @property
    def address(self) -> str:
        """How the piece is written: ``RECORDING/ROW``."""
        return f"{self.slug}/{self.key}"

    @cached_property
    def unit(self) -> Tihai | Passage:
        """What is played: a tihai of its palla and dam, or the phrase."""
        if self.tihai is not None and self.tihai.dam is not None:
            return Tihai(parse(self.tihai.palla), self.tihai.dam)
        return parse(self.phrase.swaras if self.phrase is not None else "")

    @cached_property
    def passage(self) -> Passage:
        """All of it written out. Of a tihai counted "after" the landing stroke stands outside and is not written."""
        return flat(self.unit)


def piece(archive: Archive, address: str) -> Piece:
    """Return the piece of an address, ``RECORDING/ROW``.

    Raises
    ------
    BadPiece
        It is no address of one piece, or too little of it is written down.
    annotate.errors.NoSuchRecording, annotate.errors.NoSuchRow
        With the nearest that there are.
    """
    slug, keys = _split(address)
    if len(keys) != 1:
        raise BadPiece(f"'{address}' names {len(keys)} pieces where one is wanted. {_HOW}")
    state = archive.state(slug)
    table: Table = "phrases" if keys[0] in state.rows["phrases"] else "tihais"
    if keys[0] not in state.rows[table]:
        raise _no_such("tihai or phrase", keys[0], state, ("tihais", "phrases"))
    return _piece(archive, state, table, keys[0])


def pieces(archive: Archive, tihais: Iterable[str] = (), phrases: Iterable[str] = ()) -> tuple[Piece, ...]:
    """Return the pieces of several addresses, tihais first, each once, in the order in which they are given.

    Raises
    ------
    BadPiece, annotate.errors.NoSuchRecording, annotate.errors.NoSuchRow
        As :func:`piece`.
    """
    wanted: dict[tuple[Table, str, str], Piece] = {}
    asked: tuple[tuple[Table, Iterable[str]], ...] = (("tihais", tihais), ("phrases", phrases))
    for table, addresses in asked:
        for address in addresses:
            slug, keys = _split(address)
            state = archive.state(slug)
            for key in keys:
                if key not in state.rows[table]:
                    raise _no_such("tihai" if table == "tihais" else "phrase", key, state, (table,))
                wanted.setdefault((table, slug, key), _piece(archive, state, table, key))
    return tuple(wanted.values())


def pieces_named(archive: Archive, addresses: Iterable[str]) -> tuple[Piece, ...]:
    """Return the tihais and phrases of several addresses, each once, in the order in which they are given.

    Raises
    ------
    BadPiece, annotate.errors.NoSuchRecording, annotate.errors.NoSuchRow
        As :func:`piece`.
    """
    single = [f"{slug}/{key}" for slug, keys in map(_split, addresses) for key in keys]
    return tuple(piece(archive, address) for address in dict.fromkeys(single))


def _split(address: str) -> tuple[str, list[str]]:
    slug, slash, rows = address.strip().partition("/")
    keys = [key.strip() for key in rows.split(",")]
    if not slug or not slash or not all(keys):
        raise BadPiece(f"'{address}' is no piece. {_HOW}")
    return slug, keys


def _no_such(what: str, key: str, state: State, tables: Sequence[Table]) -> NoSuchRow:
    """Name the nearest rows first."""
    present = [each for table in tables for each in state.rows[table]]
    near = difflib.get_close_matches(key, present, n=3, cutoff=0.5)
    return NoSuchRow(what, key, state.slug, [*near, *(each for each in present if each not in near)])


def _piece(archive: Archive, state: State, table: Table, key: str) -> Piece:
    grid, recording = archive.grid(state.slug), state.recording
    if table == "tihais":
        record = state.tihai(key)
        _require_notation(record, state.slug)
        part, tala = section_of(record, grid), tala_of(record, grid, recording)
        score = of_tihai(record, grid, recording.title)
        name = f"Tihai {key} of {recording.title}"
        return _made(state, key, name, score, tala, part, record)
    phrase = next(each for each in state.phrases if each.phrase == key)
    _require_swaras(phrase, state.slug)
    part = grid.at(phrase.start_s)
    score = of_phrase(phrase, grid, recording.title)
    what = phrase.role.capitalize() if phrase.role else "Phrase"
    return _made(state, key, f"{what} {key} of {recording.title}", score, score.tala, part, phrase)


def _require_notation(record: TihaiRecord, slug: str) -> None:
    try:
        written = bool(parse(record.palla).notes)
    except NotationError as error:
        raise BadPiece(f"The palla of {slug}/{record.tihai} cannot be read. {error}") from None
    missing = [name for name, there in (("palla", written), ("dam", record.dam is not None)) if not there]
    if missing:
        raise BadPiece(
            f"Of the tihai {slug}/{record.tihai} no {' and no '.join(missing)} is written down, so it cannot be "
            f"practised. Write it first: layakosh change {slug} {record.tihai} palla='Dha TiTe Dha' dam=1"
        )


def _require_swaras(record: PhraseRecord, slug: str) -> None:
    try:
        written = bool(parse(record.swaras).notes)
    except NotationError as error:
        raise BadPiece(f"The swaras of {slug}/{record.phrase} cannot be read. {error}") from None
    if not written:
        raise BadPiece(
            f"Of the phrase {slug}/{record.phrase} no swara is written down, so it cannot be practised. "
            f"Write it first: layakosh change {slug} {record.phrase} swaras='R m P n D P'"
        )


def _made(
    state: State,
    key: str,
    name: str,
    score: Score,
    tala: Tala | None,
    part: Grid | None,
    record: TihaiRecord | PhraseRecord,
) -> Piece:
    tihai, phrase = (record, None) if isinstance(record, TihaiRecord) else (None, record)
    if isinstance(record, TihaiRecord):
        start_s, end_s = record.palla_s[0], record.landing_s
    else:
        start_s, end_s = record.start_s, record.end_s
    return Piece(
        slug=state.slug,
        key=key,
        name=name,
        recording=state.recording,
        raga=state.recording.raga,
        tala=tala,
        start=score.start,
        sa_hz=state.recording.sa_hz,
        per_minute=score.laya_mpm if tihai is not None or tala is not None else None,
        start_s=start_s,
        end_s=end_s,
        tihai=tihai,
        phrase=phrase,
        script="bols" if score.system == "bols" else "sargam",
        sam_s=_sams_around(part, start_s, end_s),
    )


def _sams_around(part: Grid | None, start_s: float, end_s: float) -> tuple[float, ...]:
    """Sams from the last one before the start to the first one after the end; one that is met counts as such."""
    if part is None:
        return ()
    sams = part.sam_s
    begun = sams[sams <= start_s + tolerance_at(part, start_s) / 1000]
    after = sams[sams >= end_s - tolerance_at(part, end_s) / 1000]
    first = begun[-1] if len(begun) else sams[0]
    last = after[0] if len(after) else sams[-1]
    return tuple(float(each) for each in sams if first <= each <= last)
