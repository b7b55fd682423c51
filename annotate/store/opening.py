"""Which store a place names."""

from __future__ import annotations

import re
from pathlib import Path

from annotate.errors import NotAnArchive
from annotate.store.base import Store
from annotate.store.disk import DiskStore

_URL = re.compile(r"([a-z][a-z0-9+.-]*):/+(.*)", re.IGNORECASE)
"""A path that was made of a URL has lost one of its slashes."""


def store_at(place: str | Path) -> Store:
    """Return the store at a folder's path or a URL ``s3://bucket/prefix``.

    Raises
    ------
    NotAnArchive
        A URL of another kind, or without a bucket.
    """
    url = url_of(place)
    if url is None:
        return DiskStore(Path(place))
    from annotate.store.objects import ObjectStore

    return ObjectStore(url)


def url_of(place: str | Path) -> str | None:
    """Return the URL that a place names; None for a folder."""
    match = _URL.fullmatch(str(place))
    if match is None or len(match[1]) == 1:  # a drive letter
        return None
    kind, rest = match[1].lower(), match[2].strip("/")
    parts = rest.split("/")
    if kind != "s3" or any(part in ("", ".", "..") for part in parts):
        raise NotAnArchive(
            f"'{place}' names no place for an archive: a folder was expected, or s3://BUCKET/PREFIX in an object store."
        )
    return f"s3://{rest}"
