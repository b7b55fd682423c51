"""A file from elsewhere, by its form: a list of labels, WebVTT or JAMS."""

from __future__ import annotations

from pathlib import Path

from annotate.exchange.jams_in import read_jams
from annotate.exchange.label_lists_in import read_label_list
from annotate.exchange.spans_in import Read
from annotate.exchange.webvtt_in import read_webvtt

_READERS = {"labels": read_label_list, "webvtt": read_webvtt, "jams": read_jams}
FORMS = tuple(_READERS)
_FORM_OF_ENDING = {".vtt": "webvtt", ".jams": "jams", ".json": "jams"}


def form_of(path: Path) -> str:
    """Tell the form of a file by the ending of its name."""
    return _FORM_OF_ENDING.get(path.suffix.casefold(), "labels")


def read_file(path: Path, form: str, table: str | None = None) -> Read:
    """Read a file; for ``table`` see :func:`annotate.exchange.spans_in.rows_of`.

    Raises
    ------
    BadTable
        Names the file and the place in it.
    """
    return _READERS[form](path, table)
