"""Which tihais an address asks for, of the whole archive, and in which order: searched in the index, never recording by
recording.

Conventions: what is asked stands in the address, by the names of :data:`FIELDS`; ``sort``, ``down`` and ``page`` order
and cut the list. Free text (``find``) is looked for in titles, names and what is written, whatever its spelling.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from urllib.parse import urlencode

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from annotate.archive import Archive
from annotate.search.spans import Span, parse_span
from annotate.search.tihais import TihaiSearch, find_tihais
from theory.errors import LayakoshError
from theory.names import fold

PAGE = 50
VERDICTS = ("lands", "early", "late", "misses", "unknown")
RULES = ("within", "after")
ON_PAPER = {"lands": True, "misses": False}


class BadField(LayakoshError):
    """What stands in a field of the search cannot be read."""


@dataclass(frozen=True)
class Field:
    """A field of the search.

    Attributes
    ----------
    name : str
        In the address, and of :class:`annotate.search.tihais.TihaiSearch`.
    label, example, meaning : str
        What it is called, what may stand in it, and one line on what it means.
    """

    name: str
    label: str
    example: str
    meaning: str


FIELDS = (
    Field("find", "Words", "title, name, palla", "Looked for in title, key, name, palla, kind and player"),
    Field("swaras", "Palla", "R m P * S'", "Swaras or bols in order; ? is any one, * any number, [mM] one of these"),
    Field("raga", "Raga", "Desh", "The raga of the recording, in any usual spelling"),
    Field("tala", "Tala", "teental", "The tala it is counted in; without its variant all variants are meant"),
    Field("kind", "Kind", "bedam", "By the definitions of the table of kinds, or as the transcriber calls it"),
    Field("start", "Starts on", "9, 8 1/2, 1..4", "Matra of the tala, 1 is sam; or a range of them"),
    Field("palla", "Palla, matras", "5, 11/2, 4..6", "Length of the palla"),
    Field("dam", "Dam, matras", "0, 1/2, 1..", "The gap between pallas; 0 for none (bedam)"),
    Field("target", "Aims at", "1", "The matra it aims at; 1 is sam"),
    Field("laya", "Laya", "60..120", "Matras a minute, from the first palla to the landing"),
    Field("played_by", "Played by", "mandolin", "Who plays it, as written down"),
    Field("who", "Written by", "", "Who wrote it down"),
    Field("recording", "Recording", "short name", "One recording, by its short name"),
)
_SPANS = ("start", "palla", "dam", "target", "laya")
_CHOSEN = {"rule": RULES, "verdict": VERDICTS, "paper": tuple(ON_PAPER)}
ASKED = (*(each.name for each in FIELDS), *_CHOSEN)

SORTS: dict[str, tuple[str, ...]] = {
    "performance": ("title", "first_palla_s"),
    "tihai": ("tihai", "title"),
    "at": ("first_palla_s",),
    "raga": ("raga", "title", "first_palla_s"),
    "start": ("start_value",),
    "palla": ("palla",),
    "dam": ("dam_value",),
    "rule": ("rule",),
    "target": ("target_value",),
    "laya": ("laya_matras_per_min",),
    "paper": ("paper_order",),
    "played": ("off_ms",),
    "verdict": ("verdict_order",),
}


@dataclass(frozen=True)
class Found:
    """What was found.

    Attributes
    ----------
    rows : DataFrame
        The page asked for, in its order: columns of :data:`annotate.search.tihais.FOUND`, and ``title``.
    count, all : int
        How many fit, and how many the archive has.
    by_verdict : mapping of str to int
        How many fit when the verdict is left open.
    page, pages : int
        From 1.
    """

    rows: pd.DataFrame
    count: int
    all: int
    by_verdict: Mapping[str, int]
    page: int
    pages: int


def find(archive: Archive, wanted: Mapping[str, str]) -> Found:
    """Find the tihais that an address asks for.

    Raises
    ------
    theory.errors.LayakoshError
        A name that nothing carries, a count or pattern that cannot be read; names the field.
    """
    with archive.one_look():
        count_of_all = int((archive.index("tihais", ["status"])["status"] != "rejected").sum())
        rows = find_tihais(archive, search_of(wanted))
        titles = archive.index("recordings", ["recording", "title"])
    named = dict(zip(titles["recording"], titles["title"], strict=True))
    rows = rows.assign(title=[named.get(slug) or slug for slug in rows["recording"]])
    rows = rows[_has_words(rows, wanted.get("find", ""))]
    by_verdict = {str(name): int(count) for name, count in rows["verdict"].value_counts().items()}
    verdict = _chosen(wanted, "verdict")
    if verdict:
        rows = rows[rows["verdict"] == verdict]
    pages = max(1, -(-len(rows) // PAGE))
    page = min(max(1, _whole(wanted.get("page", ""))), pages)
    rows = _sorted(rows, wanted)
    return Found(rows.iloc[(page - 1) * PAGE : page * PAGE], len(rows), count_of_all, by_verdict, page, pages)


def search_of(wanted: Mapping[str, str]) -> TihaiSearch:
    """Return the search that an address asks for; the verdict is left open, so that all can be counted.

    Raises
    ------
    BadField
        A count that cannot be read; names the field.
    """
    text: dict[str, Any] = {
        each.name: wanted.get(each.name, "").strip() for each in FIELDS if each.name not in (*_SPANS, "find")
    }
    spans: dict[str, Any] = {name: _span(name, wanted.get(name, "")) for name in _SPANS}
    return TihaiSearch(**text, **spans, rule=_chosen(wanted, "rule"), on_paper=ON_PAPER.get(_chosen(wanted, "paper")))


def asked(wanted: Mapping[str, str]) -> dict[str, str]:
    """Return what of an address narrows the list, by name."""
    kept = {name: wanted.get(name, "").strip() for name in ASKED}
    return {name: text for name, text in kept.items() if text and (name not in _CHOSEN or text in _CHOSEN[name])}


def address(wanted: Mapping[str, str], **changed: str | None) -> str:
    """Return the address of another view, the same for the same view; whatever is changed begins at the first page."""
    known = {**wanted, "page": None, **changed}
    kept = {name: value for name in (*ASKED, "sort", "down", "page") if (value := known.get(name))}
    return f"/tihais?{urlencode(kept)}" if kept else "/tihais"


def _span(name: str, text: str) -> Span | None:
    if not text.strip():
        return None
    try:
        return parse_span(text.strip())
    except LayakoshError as error:
        label = next(each.label for each in FIELDS if each.name == name)
        raise BadField(f"{label}: {error}") from error


def _chosen(wanted: Mapping[str, str], name: str) -> str:
    value = wanted.get(name, "")
    return value if value in _CHOSEN[name] else ""


def _whole(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 9 else 1


def _has_words(rows: pd.DataFrame, text: str) -> NDArray[np.bool_]:
    """Tell which rows hold every word of a text somewhere."""
    words = [fold(word) for word in text.split() if fold(word)]
    if not words:
        return np.ones(len(rows), dtype=bool)
    found = np.zeros((len(words), len(rows)), dtype=np.bool_)
    for column in ("title", "recording", "tihai", "label", "palla", "kind", "played_by", "raga"):
        codes, kinds = pd.factorize(rows[column].fillna(""))
        held = np.array([[word in _folded(str(kind)) for kind in kinds] for word in words], dtype=np.bool_)
        found |= held.reshape(len(words), -1)[:, codes]
    return np.asarray(found.all(axis=0))


@lru_cache(maxsize=1 << 16)
def _folded(text: str) -> str:
    """Folded once: an archive has tens of thousands of titles and pallas."""
    return fold(text)


def _sorted(rows: pd.DataFrame, wanted: Mapping[str, str]) -> pd.DataFrame:
    by = SORTS.get(wanted.get("sort", ""), SORTS["performance"])
    made: dict[str, Callable[[], Any]] = {
        "start_value": lambda: rows["start"].map(_value),
        "dam_value": lambda: rows["dam"].map(_value),
        "target_value": lambda: rows["target"].map(_value),
        "off_ms": lambda: rows["landing_dev_ms"].abs(),
        "paper_order": lambda: rows["paper_lands"].map({True: 0, False: 1}).astype(float),
        "verdict_order": lambda: rows["verdict"].map(VERDICTS.index),
    }
    extra = {name: made[name]() for name in by if name in made}
    down = wanted.get("down") == "1"
    order = rows.assign(**extra).sort_values(list(by), ascending=not down, kind="stable", na_position="last").index
    return rows.loc[order]


def _value(count: Any) -> float:
    """The value of a stored count ("17/2"), for sorting; what is missing comes last."""
    if not isinstance(count, str):
        return np.nan
    whole, _, part = count.partition("/")
    return int(whole) / int(part or 1)
