"""Evidence on disk: what ingest measured, in ``evidence/<kind>.parquet``.

Evidence can always be made again from the sound, so it is replaced whole and never edited. ``frames.parquet`` is
written last: when it is there, the rest is.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from annotate.array_files import Arrays, has_arrays, read_arrays, write_arrays
from annotate.schema import EVIDENCE
from annotate.store.folder import Folder, as_folder
from ingest.evidence import DRONE_CELLS, Evidence

SLACK_S = 2.0
"""The last frame of an array may lie so far from the end of the recording."""


def save(folder: Path | Folder, evidence: Evidence) -> None:
    """Write the evidence of a recording into its ``evidence`` folder, over what was there."""
    note = {"duration_s": evidence.duration_s, "hop_s": evidence.hop_s, "chroma_hop_s": evidence.chroma_hop_s}
    note |= {"stroke_hop_s": evidence.stroke_hop_s, "texture_hop_s": evidence.texture_hop_s}
    for kind, schema in EVIDENCE.items():
        arrays = {name: getattr(evidence, name) for name in schema.names}
        write_arrays(folder, f"{kind}.parquet", schema, arrays, note)


def load(folder: Path | Folder) -> Evidence | None:
    """Read the evidence of a recording; None when there is none, or when it cannot be read (measure again then)."""
    arrays: Arrays = {}
    note: dict[str, float] = {}
    for kind, schema in EVIDENCE.items():
        read = read_arrays(folder, f"{kind}.parquet", schema)
        if read is None:
            return None
        arrays |= read[0]
        note = read[1]
    try:
        evidence = Evidence(**note, **arrays)  # type: ignore[arg-type] # as saved: floats in the note, arrays beside
        return evidence if _agrees(evidence) else None
    except TypeError:
        return None


def _agrees(evidence: Evidence) -> bool:
    """Tell whether the arrays are as long as the recording, each by its own hop."""
    lengths = (
        (evidence.hop_s, len(evidence.bass)),
        (evidence.stroke_hop_s, len(evidence.strokes)),
        (evidence.chroma_hop_s, len(evidence.chroma)),
        (evidence.texture_hop_s, len(evidence.texture)),
    )
    return (
        is_length_s(evidence.duration_s)
        and all(is_length_s(hop_s) for hop_s, _rows in lengths)
        and all(abs(rows * hop_s - evidence.duration_s) <= SLACK_S for hop_s, rows in lengths)
        and len(evidence.drone) == DRONE_CELLS
    )


def is_length_s(value: object) -> bool:
    """Tell whether a value of a note can be a length in seconds."""
    return isinstance(value, float | int) and not isinstance(value, bool) and 0 < value < float("inf")


def load_onsets(folder: Path | Folder) -> tuple[Arrays, float] | None:
    """Read only the onset strengths and the level (the columns of ``frames``), and their hop in seconds.

    None when there is no evidence, or when it cannot be read. For who draws a recording: a tenth of the whole.
    """
    read = read_arrays(folder, "frames.parquet", EVIDENCE["frames"])
    return None if read is None else (read[0], float(read[1]["hop_s"]))


def load_strokes(folder: Path | Folder) -> tuple[np.ndarray, float] | None:
    """Read only the chances of strokes, and their hop in seconds; None as for :func:`load_onsets`.

    For who looks through a whole archive: a tenth of the whole.
    """
    read = read_arrays(folder, "strokes.parquet", EVIDENCE["strokes"])
    return None if read is None else (read[0]["strokes"], float(read[1]["stroke_hop_s"]))


def is_there(folder: Path | Folder) -> bool:
    """Tell whether there is evidence that this version can read, without reading it."""
    return all(has_arrays(folder, f"{kind}.parquet", schema) for kind, schema in EVIDENCE.items())


def stamp(folder: Path | Folder) -> str:
    """Return a text that changes whenever the evidence is replaced; empty when there is none."""
    return as_folder(folder).stamp("frames.parquet")
