"""Runs of neighbouring swaras, held against what a raga's ascent and descent allow.

Conventions
-----------
* A run counts wherever it stands in a phrase, in every octave; none goes across the end of a phrase.
* A run is *in the aroha* (or avaroha) when it is a part of it as the table writes it, breaths (commas) parting it.
* It is *unusual* when :func:`theory.raga_check.check_phrase` finds something in it, read by itself: a foreign swara,
  one used against its direction, outside the turns it is kept to, or straight where the raga goes round. Where the line
  came from and goes on to is not known, so the first and the last swara belong to both directions: two swaras tell
  little, three judge the one in the middle. Musicians set such swaras on purpose, and schools differ.
"""

from __future__ import annotations

from functools import lru_cache

import pandas as pd

from annotate.archive import Archive
from annotate.statistics.lines import lines_of, ngrams_of
from annotate.statistics.performances import By
from annotate.statistics.shares import shares
from theory.errors import UnknownName
from theory.notation import parse
from theory.raga_check import check_phrase
from theory.ragas import Raga, get_raga

_BY_DIRECTION = ("ascent only", "descent only")


def ngram_usage(archive: Archive, raga: str, length: int = 3, by: By = "") -> pd.DataFrame:
    """Return how often each run of swaras is played, and what the raga says of it.

    Parameters
    ----------
    archive : Archive
    raga : str
    length : int
        Of the runs, 2 to :data:`annotate.statistics.lines.LONGEST_NGRAM` swaras.
    by : str
        See :data:`annotate.statistics.performances.By`.

    Returns
    -------
    DataFrame
        The columns of :func:`annotate.statistics.shares.shares`, and in_aroha, in_avaroha, unusual (true, false, or
        missing where the raga is not in the table) and why. Not split, the runs of aroha and avaroha that nobody
        played follow with count 0.

    Raises
    ------
    theory.errors.UnknownName
    """
    found = shares(archive, raga, "ngrams", by, length)
    try:
        known = get_raga(raga)
    except UnknownName:
        unknown = pd.Series(pd.NA, index=found.index, dtype="boolean")
        return found.assign(in_aroha=unknown, in_avaroha=unknown, unusual=unknown, why="")
    up, down = runs_in(known.aroha, length), runs_in(known.avaroha, length)
    if not by:
        unplayed = [run for run in dict.fromkeys((*up, *down)) if run not in set(found["item"])]
        of_performances = int(found["of_performances"].max()) if len(found) else 0
        more = {"count": 0, "share": 0.0, "performances": 0, "of_performances": of_performances}
        rows = [*found.to_dict("records"), *({"item": run, **more} for run in unplayed)]
        found = pd.DataFrame(rows, columns=found.columns)
    whys = {item: _why(known, str(item)) for item in found["item"].unique()}
    return found.assign(
        in_aroha=found["item"].isin(up).astype("boolean"),
        in_avaroha=found["item"].isin(down).astype("boolean"),
        unusual=found["item"].map({item: bool(why) for item, why in whys.items()}).astype("boolean"),
        why=found["item"].map(whys),
    )


@lru_cache(maxsize=1024)
def runs_in(scale: str, length: int) -> tuple[str, ...]:
    """Return the runs of a scale as it is written, in the octave of :func:`annotate.statistics.lines.ngrams_of`."""
    parts = [" ".join(parse(part).symbols) for part in scale.split(",") if part.strip()]
    return tuple(dict.fromkeys(ngrams_of(lines_of(pd.Series(parts, dtype=str)), length)[1].tolist()))


@lru_cache(maxsize=65536)
def _why(raga: Raga, run: str) -> str:
    breaches = check_phrase(raga, run)
    return " ".join(each.sentence for each in breaches if each.note > 1 or each.kind not in _BY_DIRECTION)
