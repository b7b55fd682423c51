"""The ragas: thaat, aroha and avaroha, swaras, vadi and samvadi, phrases, time, with the source of each.

Conventions: swaras are letters (capital shuddha, lower case komal, M tivra ma) without their octave. Aroha, avaroha and
phrases are notation. Schools differ, and the notes say where: a teacher's word stands above this table.
Table: ``data/ragas.toml``; every row is checked when it is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from theory.errors import BadData, LayakoshError
from theory.names import find, fold, table_of_names
from theory.notation import parse
from theory.swaras import letters, split_symbol
from theory.tables import field, load, source_title


@dataclass(frozen=True, slots=True)
class Raga:
    """A raga.

    Attributes
    ----------
    key : str
        Its name for tables and commands: "brindavani-sarang".
    name : str
        As shown to people.
    aliases : tuple of str
        Other names and spellings.
    thaat : str
        The thaat it is counted to.
    aroha, avaroha : str
        One typical way up and down, as notation.
    swaras : tuple of str
        The letters of its swaras in order from Sa.
    ascent_only, descent_only : tuple of str
        Letters that occur in one direction only.
    vadi, samvadi : str
        Letters of the two leading swaras.
    phrases : tuple of str
        Typical phrases, as notation.
    time : str
        When it is performed.
    jati : str
        How many swaras go up and how many down: "5-7".
    source : str
        Full titles of the sources, with ``"; "`` between.
    notes : str
        Where sources and schools differ.
    """

    key: str
    name: str
    aliases: tuple[str, ...]
    thaat: str
    aroha: str
    avaroha: str
    swaras: tuple[str, ...]
    ascent_only: tuple[str, ...]
    descent_only: tuple[str, ...]
    vadi: str
    samvadi: str
    phrases: tuple[str, ...]
    time: str
    jati: str
    source: str
    notes: str

    @property
    def swara_set(self) -> frozenset[str]:
        """The letters of its swaras."""
        return frozenset(self.swaras)


@cache
def all_ragas() -> tuple[Raga, ...]:
    """Return every raga of the table, in its order.

    Raises
    ------
    BadData
        When a row contradicts itself.
    """
    return tuple(read_raga(row) for row in load("ragas")["raga"])


@cache
def _table() -> dict[str, Raga]:
    return table_of_names("raga", ((raga, (raga.key, raga.name, *raga.aliases)) for raga in all_ragas()))


@cache
def _shown() -> dict[str, str]:
    return {fold(name): raga.name for raga in all_ragas() for name in (raga.key, raga.name, *raga.aliases)}


def get_raga(name: str) -> Raga:
    """Look up a raga by key, name, alias or any usual spelling ("Bageshree", "Vrindavani Sarang").

    Raises
    ------
    UnknownName
        When there is no such raga; offers the nearest names.
    """
    return find("raga", name, _table(), _shown())


def read_raga(row: Mapping[str, Any], where: str = "ragas.toml") -> Raga:
    """Make a raga from one row of a table, checking that it agrees with itself.

    Raises
    ------
    BadData
        When a text does not parse, or vadi, samvadi, a phrase or a one-way swara is none of the raga's swaras.
    """
    key = field(row, "key", str, where)
    where = f"{where}, raga '{key}'"
    texts = {name: field(row, name, str, where, "") for name in ("also", "ascent_only", "descent_only")}
    aroha, avaroha = field(row, "aroha", str, where), field(row, "avaroha", str, where)
    vadi, samvadi = field(row, "vadi", str, where), field(row, "samvadi", str, where)
    phrases = tuple(field(row, "phrases", list, where, []))
    used = _letters(aroha, where) | _letters(avaroha, where) | _letters(texts["also"], where)
    for text in (vadi, samvadi, texts["ascent_only"], texts["descent_only"], *phrases):
        if foreign := _letters(text, where) - used:
            raise BadData(f"{where}: '{text}' has {', '.join(sorted(foreign))}, which is none of its swaras.")
    return Raga(
        key=key,
        name=field(row, "name", str, where),
        aliases=tuple(field(row, "aliases", list, where, [])),
        thaat=field(row, "thaat", str, where),
        aroha=aroha,
        avaroha=avaroha,
        swaras=_ordered(used),
        ascent_only=_ordered(_letters(texts["ascent_only"], where)),
        descent_only=_ordered(_letters(texts["descent_only"], where)),
        vadi=vadi,
        samvadi=samvadi,
        phrases=phrases,
        time=field(row, "time", str, where, ""),
        jati=field(row, "jati", str, where, ""),
        source=source_title(field(row, "source", str, where)),
        notes=field(row, "notes", str, where, ""),
    )


def _letters(text: str, where: str) -> set[str]:
    try:
        return {split_symbol(symbol)[0].letter for symbol in parse(text).symbols}
    except LayakoshError as error:
        raise BadData(f"{where}: {error}") from None


def _ordered(used: set[str]) -> tuple[str, ...]:
    return tuple(letter for letter in letters() if letter in used)
