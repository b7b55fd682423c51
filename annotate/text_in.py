"""Reading a text that comes from elsewhere: how large it may be, its encoding, and the signs it may hold.

UTF-8, with or without a byte order mark. Line ends may be those of any system; a reader that needs lines takes
:func:`lines_of`.
"""

from __future__ import annotations

import re
from pathlib import Path

from annotate.errors import BadTable

MOST_BYTES = 64 * 2**20
"""The largest file that is read: every matra of ten hours of drut in JAMS takes about half of it."""

MOST_ROWS = 200_000
"""The most rows of one file: more than the matras of ten hours of drut."""

MOST_SIGNS = 10_000
"""The longest text of one cell or label: a thousand avartans of bols take less."""

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x80-\x9f]|[\ud800-\udfff]")
_LINE_END = re.compile(r"\r\n|\r|\n")


def read_text(path: Path) -> str:
    """Return the text of a file.

    Raises
    ------
    BadTable
        It cannot be opened, is too large, or is not UTF-8 text.
    """
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError:
        raise BadTable(path.name, None, None, "The file cannot be opened.") from None
    if len(content) > MOST_BYTES:
        raise BadTable(path.name, None, None, f"The file is larger than {MOST_BYTES >> 20} MB. Divide it.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadTable(path.name, None, None, "The file is not UTF-8 text; save it as text or CSV (UTF-8).") from None


def lines_of(text: str) -> list[str]:
    """Return the lines of a text without their ends, whichever system wrote them."""
    return _LINE_END.split(text)


def fault_of(text: str) -> str:
    """Return what is wrong with the text of a cell or label; empty when nothing is.

    Control characters (but line ends and tabs) are refused, since they would act on a terminal that prints them, and
    so are halves of characters, which cannot be kept.
    """
    if len(text) > MOST_SIGNS:
        return f"The text has {len(text)} signs; at most {MOST_SIGNS} are taken."
    found = _CONTROL.search(text)
    return f"A control character (U+{ord(found[0]):04X}) stands in the text. Take it out." if found else ""
