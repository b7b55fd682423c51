"""The listening copy under its old name; `ingest.listen` makes it in the same pass as the evidence."""

from ingest.listening_copy import keep_copy

__all__ = ["keep_copy"]
