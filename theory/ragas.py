"""The ragas: thaat, aroha and avaroha, swaras, vadi and samvadi, phrases, time, with the source of each.

Conventions: swaras are letters (capital shuddha, lower case komal, M tivra ma) without their octave. Aroha, avaroha and
phrases are notation. Schools differ: a raga has variants (``kafi/pa-sa``) and notes, and a teacher's word stands above
this table. Table: ``data/ragas.toml``, and the user's own ragas (see :mod:`theory.catalogue`); every row is checked
when it is read. How a phrase is held against a raga: :mod:`theory.raga_check`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from theory.catalogue import Catalogue, catalogue
from theory.errors import BadData, LayakoshError
from theory.notation import parse
from theory.swaras import all_swaras, letters, split_symbol
from theory.tables import field, key_of, load, notes_of, one_of, only_fields, source_of, words

_FIELDS = (
    "key", "name", "aliases", "thaat", "aroha", "avaroha", "also", "ascent_only", "descent_only", "only_within",
    "never", "allowed", "vadi", "samvadi", "phrases", "time", "jati", "source", "notes", "variant",
)  # fmt: skip


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
        The thaat it is counted to; '' where it belongs to none of the ten.
    aroha, avaroha : str
        One typical way up and down, as notation.
    swaras : tuple of str
        The letters of its swaras in order from Sa.
    ascent_only, descent_only : tuple of str
        Letters that occur in one direction only.
    only_within : tuple of (str, tuple of str)
        A swara that is used only within certain turns of phrase, and these as notation.
    never : tuple of str
        Ways that are not taken straight, as notation: the raga goes round there (vakra).
    allowed : tuple of str
        Turns of phrase that are used although the rules above speak against them, as notation.
    vadi, samvadi : str
        Letters of the two leading swaras; '' where there is no agreed pair.
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
    only_within: tuple[tuple[str, tuple[str, ...]], ...]
    never: tuple[str, ...]
    allowed: tuple[str, ...]
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

    @property
    def omitted(self) -> tuple[str, ...]:
        """The degrees of the scale that it leaves out, by their shuddha letters: m and N in Bhupali."""
        return _missing(self.swaras)

    @property
    def omitted_up(self) -> tuple[str, ...]:
        """The degrees that its aroha leaves out."""
        return _missing(_letters(self.aroha, self.key))

    @property
    def omitted_down(self) -> tuple[str, ...]:
        """The degrees that its avaroha leaves out."""
        return _missing(_letters(self.avaroha, self.key))

    def to_json(self) -> dict[str, Any]:
        """Return all of it as plain values."""
        plain: dict[str, Any] = {
            name: list(value) if isinstance(value, tuple) else value
            for name in ("key", *_FIELDS)
            if isinstance(value := getattr(self, name, None), tuple | str)
        }
        plain |= {"swaras": list(self.swaras), "only_within": {swara: list(ways) for swara, ways in self.only_within}}
        omitted = {"omitted": self.omitted, "omitted_up": self.omitted_up, "omitted_down": self.omitted_down}
        return {"raga": plain.pop("key"), **plain, **{name: list(value) for name, value in omitted.items()}}


def all_ragas() -> tuple[Raga, ...]:
    """Return every raga of the table, in its order, without variants; the user's own come last.

    Raises
    ------
    BadData
        When a row contradicts itself.
    """
    return _catalogue().entries


def get_raga(name: str) -> Raga:
    """Look up a raga by key, name, alias or any usual spelling ("Bageshree"), or a variant ("kafi/pa-sa").

    Raises
    ------
    UnknownName
        When there is no such raga or variant; offers the nearest names.
    BadData
        When the user's own file of ragas is wrong.
    """
    return _catalogue().get(name)


def raga_variants(raga: Raga) -> tuple[Raga, ...]:
    """Return the variants of a raga, each with its own source; none for a raga that is itself a variant."""
    return _catalogue().variants.get(raga.key, ())


def _catalogue() -> Catalogue[Raga]:
    return catalogue("raga", read_raga)


@cache
def thaats() -> dict[str, tuple[str, ...]]:
    """Return the ten thaats: name to the letters of its scale.

    References
    ----------
    Vasant, Sangit Visharad, Sangeet Karyalaya, Hathras, p. 92.
    """
    table = load("ragas")["thaats"]
    return {name: tuple(scale.split()) for name, scale in table.items() if name != "source"}


def read_raga(row: Mapping[str, Any], where: str = "ragas.toml", own: bool = False) -> Raga:
    """Make a raga from one row of a table, checking that it agrees with itself.

    Parameters
    ----------
    row : mapping
        Fields as in ``ragas.toml``. Its variants are not read here.
    where : str
        The file, for messages.
    own : bool
        Whether the row is a user's own: then its source is any text.

    Raises
    ------
    BadData
        When a text does not parse, the thaat is none of the ten, or vadi, samvadi, a phrase, a rule or a one-way swara
        is none of the raga's swaras.
    """
    key = key_of(row, where)
    where = f"{where}, raga '{key}'"
    only_fields(row, _FIELDS, where)
    texts = {name: field(row, name, str, where, "") for name in ("also", "ascent_only", "descent_only", "thaat")}
    aroha, avaroha = field(row, "aroha", str, where), field(row, "avaroha", str, where)
    vadi, samvadi = field(row, "vadi", str, where, ""), field(row, "samvadi", str, where, "")
    lists = {name: words(row, name, where) for name in ("phrases", "never", "allowed")}
    only_within = _read_only_within(row, where)
    used = _letters(aroha, where) | _letters(avaroha, where) | _letters(texts["also"], where)
    if not _letters(aroha, where) or not _letters(avaroha, where):
        raise BadData(f'{where}: aroha and avaroha need swaras, such as "S R G P D S\'".')
    ways = [way for swara, within in only_within for way in (swara, *within)]
    one_way = (texts["ascent_only"], texts["descent_only"])
    for text in (vadi, samvadi, *one_way, *ways, *(text for texts_ in lists.values() for text in texts_)):
        if foreign := _letters(text, where) - used:
            raise BadData(f"{where}: '{text}' has {', '.join(sorted(foreign))}, which is none of its swaras.")
    if both := _letters(one_way[0], where) & _letters(one_way[1], where):
        raise BadData(f"{where}: {', '.join(sorted(both))} cannot be both ascent_only and descent_only.")
    for name, text in (("vadi", vadi), ("samvadi", samvadi)):
        if text and text not in letters():
            raise BadData(f"{where}: {name} '{text}' should be the letter of one swara.")
    return Raga(
        key=key,
        name=field(row, "name", str, where),
        aliases=words(row, "aliases", where),
        thaat=one_of(texts["thaat"], tuple(thaats()), where) if texts["thaat"] else "",
        aroha=aroha,
        avaroha=avaroha,
        swaras=_ordered(used),
        ascent_only=_ordered(_letters(one_way[0], where)),
        descent_only=_ordered(_letters(one_way[1], where)),
        only_within=only_within,
        never=lists["never"],
        allowed=lists["allowed"],
        vadi=vadi,
        samvadi=samvadi,
        phrases=lists["phrases"],
        time=field(row, "time", str, where, ""),
        jati=field(row, "jati", str, where, ""),
        source=source_of(row, where, own),
        notes=notes_of(row, where),
    )


def _read_only_within(row: Mapping[str, Any], where: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    table = field(row, "only_within", dict, where, {})
    rules = tuple((swara, words(table, swara, where)) for swara in table)
    for swara, ways in rules:
        if not ways or not all(swara in _letters(way, where) for way in ways):
            raise BadData(f"{where}: only_within {swara} should list turns of phrase that have {swara}.")
    return rules


def _letters(text: str, where: str) -> frozenset[str]:
    try:
        return _letters_of(text)
    except LayakoshError as error:
        raise BadData(f"{where}: {error}") from None


@cache
def _letters_of(text: str) -> frozenset[str]:  # cached: a raga's variants repeat most of its texts
    return frozenset(split_symbol(symbol)[0].letter for symbol in parse(text).symbols)


def _ordered(used: Iterable[str]) -> tuple[str, ...]:
    return tuple(letter for letter in letters() if letter in used)


def _missing(used: Iterable[str]) -> tuple[str, ...]:
    """Return the shuddha letters of the degrees (Sa, Re, Ga ...) of which no swara is used."""
    degrees = {letter.upper() for letter in used}
    return tuple(each.letter for each in all_swaras() if each.kind == "shuddha" and each.letter.upper() not in degrees)
