"""Names as a search is given them, held against the tables of theory and what the archive holds.

A name that nothing carries is refused with the nearest ones, so that a slip of the pen does not look like "none found".
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import NoReturn

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from annotate.errors import NoSuchRecording
from annotate.labels import raga_key, raga_name
from theory.errors import UnknownName
from theory.kinds import all_kinds
from theory.names import fold
from theory.ragas import all_ragas, get_raga
from theory.talas import get_tala


def of_tala(talas: pd.Series, name: str) -> NDArray[np.bool_]:
    """Tell which rows are in a tala; one named without its variant stands for all of them.

    Raises
    ------
    UnknownName
    """
    key = get_tala(name).key
    exact = talas == key
    return np.asarray(exact if "/" in key else exact | talas.str.startswith(f"{key}/"), dtype=bool)


def of_raga(ragas: pd.Series, name: str, held: pd.Series) -> NDArray[np.bool_]:
    """Tell which rows are in a raga of the table, or in one of the archive's own by its text.

    Parameters
    ----------
    ragas : Series of str
        Of the rows.
    name : str
        As typed.
    held : Series of str
        Of the archive's recordings.

    Raises
    ------
    UnknownName
        Neither the table nor the archive has it; offers the nearest of both.
    """
    return np.asarray(ragas.isin(ragas_named(held.dropna().unique(), name)), dtype=bool)


def ragas_named(held: Iterable[str], name: str) -> list[str]:
    """Return the texts under which the archive holds a raga: its key, or as somebody wrote it.

    Parameters
    ----------
    held : iterable of str
        The ragas of the archive's recordings.
    name : str
        As typed.

    Raises
    ------
    UnknownName
        Neither the table nor the archive has it; offers the nearest of both.
    """
    held = [raga for raga in held if raga]
    wanted = raga_key(name)
    meant = [raga for raga in held if raga_key(raga) == wanted or fold(raga) == fold(name)]
    if not meant:
        try:
            get_raga(name)  # a raga that nobody has played yet
        except UnknownName:
            _refuse("raga", name, [*(raga_name(raga) for raga in held), *(raga.name for raga in all_ragas())])
    return meant


def of_kind(kinds: pd.Series, written: pd.Series, name: str) -> NDArray[np.bool_]:
    """Tell which tihais are of a kind: by a source's definition or as the transcriber calls them.

    Parameters
    ----------
    kinds, written : Series of str
        Columns ``kinds`` and ``kind`` of the index.
    name : str
        A key of the table of kinds ("bedam_half": by the half matra), a name ("farmaishi chakradar"), or a word
        that a transcriber wrote.

    Raises
    ------
    UnknownName
    """
    table = all_kinds()
    keys = [key for key in table if fold(key) == fold(name)]
    keys = keys or [key for key, kind in table.items() if fold(kind.name) == fold(name)]
    own = [word for word in written.dropna().unique() if word and fold(word) == fold(name)]
    if not keys and not own:
        words = [*table, *(kind.name for kind in table.values()), *filter(None, written.dropna().unique())]
        _refuse("kind of tihai", name, words)
    found = written.isin(own)
    for key in keys:
        found |= (" " + kinds + " ").str.contains(f" {key} ", regex=False)
    return np.asarray(found, dtype=bool)


def of_text(column: pd.Series, kind: str, name: str) -> NDArray[np.bool_]:
    """Tell which rows carry a name that contains what was typed, whatever its spelling ("Asha" finds "Āshā Rao").

    Raises
    ------
    UnknownName
        No row does; offers the nearest.
    """
    known = [text for text in column.dropna().unique() if text]
    found = [text for text in known if fold(name) in fold(text)]
    if not found:
        _refuse(kind, name, known)
    return np.asarray(column.isin(found), dtype=bool)


def of_recording(column: pd.Series, known: Iterable[str], slug: str) -> NDArray[np.bool_]:
    """Tell which rows belong to a recording.

    Raises
    ------
    NoSuchRecording
        The archive has none of that name; offers the nearest.
    """
    known = list(known)
    if slug not in known:
        raise NoSuchRecording(slug, difflib.get_close_matches(slug, known, n=3, cutoff=0.5))
    return np.asarray(column == slug, dtype=bool)


def _refuse(kind: str, name: str, known: Iterable[str]) -> NoReturn:
    shown: dict[str, str] = {}
    for each in known:
        shown.setdefault(fold(each), each)
    close = difflib.get_close_matches(fold(name), shown, n=3, cutoff=0.6)
    raise UnknownName(kind, name, [shown[each] for each in close], known=list(shown.values())[:6])
