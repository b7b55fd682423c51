"""What is counted of a raga's performances, in one shape for every statistic.

Conventions
-----------
A *counted* table has one row per thing that was counted: ``recording``; ``unit`` (the phrase it stands in, or the
stretch of sound it was heard in), which is what is drawn again where performances are too few to be; ``item`` (what
was counted, as text); ``amount``: how many times, or for swaras how many seconds.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, get_args

import numpy as np
import pandas as pd

from annotate.archive import Archive
from annotate.statistics.heard import heard_seconds
from annotate.statistics.lines import NO_PITCH, last_swaras, lines_of, ngrams_of, swara_lengths
from annotate.statistics.usage import placed
from theory.swaras import letters

Of = Literal["phrases", "roles", "ngrams", "swaras", "heard", "endings", "places"]
"""What may be counted: phrases by their swaras; their roles; runs of neighbouring swaras; the time of each swara by
what is written down, and by the melody heard in the sound; the swaras that phrases end on (nyas); the matras they
start on."""

KINDS: tuple[str, ...] = get_args(Of)
_READ = ("recording", "phrase", "role", "tala", "matra", "swaras", "symbols", "start_s", "end_s")
COLUMNS = ("recording", "unit", "item", "amount")


def amount_name(of: Of) -> str:
    """Return the name of the amount with its unit: ``sounding_s`` for swaras, ``count`` for all else."""
    return "sounding_s" if of in ("swaras", "heard") else "count"


def counted(
    archive: Archive,
    performances: pd.DataFrame,
    of: Of,
    length: int = 3,
    tell: Callable[[float], None] | None = None,
) -> pd.DataFrame:
    """Count something in some performances.

    Parameters
    ----------
    archive : Archive
    performances : DataFrame
        From :func:`annotate.statistics.performances.performances_of`.
    of : str
        See :data:`Of`.
    length : int
        Of the runs, in swaras; for ``ngrams`` only.
    tell : callable, optional
        Told the share done, 0 to 1, while sound's evidence is read; for ``heard`` only.

    Returns
    -------
    DataFrame
        Columns :data:`COLUMNS`.
    """
    if of == "heard":
        return heard_seconds(archive, performances["recording"].tolist(), tell)
    phrases = archive.index("phrases", _READ, performances["recording"].unique())
    if of == "phrases":
        return _table(phrases, np.arange(len(phrases)), phrases["symbols"])
    if of == "roles":
        return _table(phrases, np.arange(len(phrases)), phrases["role"].replace("", "no role"))
    if of == "places":
        inside = placed(phrases)
        places = inside["tala"] + " " + (inside["place"] + 1).astype(str)
        return _table(phrases, inside.index.to_numpy(), places)
    if of == "swaras":
        sounding = swara_lengths(phrases["swaras"], phrases["end_s"] - phrases["start_s"])
        return _table(phrases, sounding["owner"].to_numpy(), sounding["letter"], sounding["sounding_s"].to_numpy())
    lines = lines_of(phrases["symbols"])
    if of == "ngrams":
        owner, texts = ngrams_of(lines, length)
        return _table(phrases, owner, pd.Series(texts, dtype=str))
    ends = last_swaras(lines)
    owner = np.flatnonzero(ends != NO_PITCH)
    return _table(phrases, owner, pd.Series(np.array(list(letters()))[ends[owner] % 12], dtype=str))


def _table(
    phrases: pd.DataFrame, owner: np.ndarray, items: pd.Series, amounts: np.ndarray | None = None
) -> pd.DataFrame:
    counts = np.ones(len(owner)) if amounts is None else amounts
    return pd.DataFrame(
        {
            "recording": phrases["recording"].take(owner).to_numpy(),
            "unit": phrases["phrase"].take(owner).to_numpy(),
            "item": items.to_numpy(),
            "amount": counts,
        }
    )
