"""Doing beforehand what a server does once, before somebody waits for it: loading what fits grids and draws figures,
compiled code, and counting what Concerts and Phrases list at first.

Otherwise the first page of a concert takes a third of a second more, the first sam that is moved two thirds, and the
first page of statistics one to two seconds.
"""

from __future__ import annotations

import threading

import numpy as np

from dashboard.library import Library
from theory.errors import LayakoshError

_SECONDS, _STROKES_A_SECOND, _SOUNDING_FRAMES = 8.0, 2, 2


def warm_up_beside() -> threading.Thread:
    """Warm up in a thread of its own, which ends with the server; the answers given meanwhile only take longer."""
    thread = threading.Thread(target=warm_up, name="warming up", daemon=True)
    thread.start()
    return thread


def read_ahead_beside(library: Library) -> threading.Thread:
    """Read ahead in a thread of its own, which ends with the server."""
    thread = threading.Thread(target=read_ahead, args=(library,), name="reading ahead", daemon=True)
    thread.start()
    return thread


def read_ahead(library: Library) -> None:
    """Count what Concerts, Phrases and a raga's page show at first, with all that this and a figure need loaded."""
    try:
        library.overviews()
        import plotly.graph_objects  # noqa: F401 - what figures are made with

        from annotate.statistics.shares import shares
        from annotate.statistics.usage import ragas_played
        from dashboard.pages import phrases

        phrases.page(library, {})
        for raga in ragas_played(library.archive).index[:1]:
            shares(library.archive, str(raga), "swaras")
    except (LayakoshError, OSError):
        return  # whoever opens the page is told


def warm_up() -> None:
    """Follow the cycle through some seconds of an invented tabla, with all that this needs loaded on the way."""
    import annotate.grid_store  # noqa: F401 - what reads and fits a recording's grid
    from ingest.cycle import fit_cycle
    from ingest.errors import IngestError
    from ingest.evidence import DRONE_CELLS, Evidence
    from theory.talas import get_tala

    hop_s = 0.01
    frames = int(_SECONDS / hop_s)
    strokes = np.full((frames, 7), 0.01, dtype=np.float32)
    for frame in range(0, frames, int(1 / (_STROKES_A_SECOND * hop_s))):
        strokes[frame : frame + _SOUNDING_FRAMES, (0, 4)] = 0.9
    silence = np.zeros(frames, dtype=np.float32)
    evidence = Evidence(
        duration_s=_SECONDS,
        hop_s=hop_s,
        bass=silence,
        treble=silence,
        strength=silence,
        level_db=silence,
        chroma_hop_s=1.0,
        chroma=np.zeros((int(_SECONDS), 12), dtype=np.float32),
        drone=np.zeros(DRONE_CELLS, dtype=np.float32),
        stroke_hop_s=hop_s,
        strokes=strokes,
        texture_hop_s=1.0,
        texture=np.zeros((int(_SECONDS), 10), dtype=np.float32),
    )
    try:
        fit_cycle(evidence, 0.0, _SECONDS, get_tala("dadra"))
    except IngestError:
        return  # nothing was to be found; what finds it is loaded
