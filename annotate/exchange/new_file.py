"""A new file, written whole or not at all; one that exists is left as it is."""

from __future__ import annotations

import contextlib
from pathlib import Path

from annotate.exchange.errors import CannotExport


def write_new(file: Path, content: bytes | str) -> None:
    """Write a file that must not exist; a text as UTF-8.

    Raises
    ------
    CannotExport
        It exists, or cannot be written; then nothing of it is left.
    """
    try:
        out = file.open("xb")
    except FileExistsError:
        raise CannotExport(f"{file} exists and was left as it is. Name a new file, or remove that one.") from None
    except (OSError, ValueError) as error:
        raise CannotExport(f"{file} cannot be written: {_why(error)}. Name another place.") from None
    try:
        with out:
            out.write(content if isinstance(content, bytes) else content.encode())
    except OSError as error:
        with contextlib.suppress(OSError):
            file.unlink()
        raise CannotExport(f"{file} could not be written: {_why(error)}. Nothing of it was left.") from None


def _why(error: OSError | ValueError) -> str:
    return (isinstance(error, OSError) and error.strerror) or str(error)
