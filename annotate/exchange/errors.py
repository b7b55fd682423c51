"""Errors of the exchange, a branch of :mod:`annotate.errors`."""

from __future__ import annotations

from annotate.errors import ArchiveError


class CannotExport(ArchiveError):
    """There is nothing to write, nowhere to write it, or the format cannot hold it. No file was made or changed."""
