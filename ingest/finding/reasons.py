"""Why a proposal is made, in words: what was measured of it, as a musician would say it."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from ingest.finding.close_look import NAMES, VIEWS

PLAYERS = {"tabla": "The tabla plays", "lead": "The melody plays", "both": "Tabla and melody play"}
VOICE = {"tabla": ("tabla",), "lead": ("melody", "plucks"), "both": ("tabla", "melody")}
ALIKE, LESS_ALIKE = 0.5, 0.2
LOUDER = 1.2
QUIET_DAM = 0.35


def reason_for(measures: NDArray[np.floating], played_by: str, kind: str, aims_at: str, off: Fraction) -> str:
    """Say why three pallas that end there may be a tihai.

    Parameters
    ----------
    measures : ndarray of float
        By `close_look.NAMES`.
    played_by : str
        One of `close_look.VIEWS`.
    kind, aims_at : str
    off : Fraction
        How far after its target it lands, in matras.
    """
    value = dict(zip(NAMES, (float(each) for each in measures), strict=True))
    assert played_by in VIEWS
    streams = VOICE[played_by]
    alike = [value[f"{played_by}: {stream} least"] for stream in streams]
    said = [f"{PLAYERS[played_by]} the same three times ({_percent(max(alike))} alike)"]
    before = max(value[f"{played_by}: {stream} before"] for stream in streams)
    after = max(value[f"{played_by}: {stream} after"] for stream in streams)
    if before < max(alike) - LESS_ALIKE and after < max(alike) - LESS_ALIKE:
        said.append("and neither before nor after")
    elif before >= max(alike) - LESS_ALIKE:
        said.append("though it may begin earlier, with a fourth")
    else:
        said.append("though a fourth may follow")
    sentences = [" ".join(said) + "."]
    if kind in ("chakradar", "nauhakka"):
        whole = "is itself a tihai" if kind == "nauhakka" else "ends in a tihai of its own"
        sentences.append(f"Each of the three {whole}.")
    busy_dam = [value[f"{played_by}: {stream} busy dam"] for stream in streams]
    if 0 <= max(busy_dam) < QUIET_DAM:
        sentences.append("The dam is quiet.")
    where = {"sam": "sam", "mukhra": "the mukhra", "matra": "a matra that may be where the mukhra begins"}[aims_at]
    if off == 0:
        louder = ", with a stronger stroke" if value["louder"] >= LOUDER else ""
        sentences.append(f"The third ends on {where}{louder}.")
    else:
        sentences.append(f"The third ends {'after' if off > 0 else 'before'} {where}.")
    if value[f"{streams[0]} elsewhere"] > ALIKE:
        sentences.append("The same place of other cycles is like it too.")
    return " ".join(sentences)


def _percent(share: float) -> str:
    return f"{round(100 * share)} %"
