"""The melody on disk: ``evidence/melody.parquet``. Like all evidence it can be made again from the sound."""

from __future__ import annotations

from pathlib import Path

from annotate.array_files import has_arrays, read_arrays, write_arrays
from annotate.evidence_store import is_length_s
from annotate.schema import MELODY
from annotate.store.folder import Folder, as_folder
from ingest.melody import Melody

FILE = "melody.parquet"


def save(folder: Path | Folder, melody: Melody) -> None:
    """Write the melody of a recording into its ``evidence`` folder, over what was there."""
    arrays = {name: getattr(melody, name) for name in MELODY.names}
    write_arrays(folder, FILE, MELODY, arrays, {"hop_s": melody.hop_s})


def load(folder: Path | Folder) -> Melody | None:
    """Read the melody of a recording; None when it was not followed, or cannot be read (follow it again then)."""
    read = read_arrays(folder, FILE, MELODY)
    if read is None:
        return None
    arrays, note = read
    try:
        melody = Melody(**note, **arrays)  # type: ignore[arg-type] # as saved: floats in the note, arrays beside
        return melody if is_length_s(melody.hop_s) else None
    except TypeError:
        return None


def is_there(folder: Path | Folder) -> bool:
    """Tell whether there is a melody that this version can read, without reading it."""
    return has_arrays(folder, FILE, MELODY)


def stamp(folder: Path | Folder) -> str:
    """Return a text that changes whenever the melody is replaced; empty when there is none."""
    return as_folder(folder).stamp(FILE)
