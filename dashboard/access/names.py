"""Names that people choose: their own, and those of the files they send. Both are shown, neither is ever a path."""

from __future__ import annotations

import unicodedata

from dashboard.errors import BadPerson

LONGEST_NAME = 40
LONGEST_FILE_NAME = 120
_BESIDE_LETTERS = " .'-_"


def person_name(text: str) -> str:
    """Return a person's name as it is kept: composed (NFC), without spaces around it, single spaces within.

    Raises
    ------
    BadPerson
        It is empty or too long, or has other signs than letters, digits, spaces and ``. ' - _``.
    """
    name = " ".join(unicodedata.normalize("NFC", text).split())
    fault = ""
    if not 1 <= len(name) <= LONGEST_NAME:
        fault = f"has {len(name)} characters"
    elif not unicodedata.category(name[0]).startswith(("L", "N")):
        fault = "begins with neither a letter nor a digit"
    else:
        odd = next((sign for sign in name if not _in_a_name(sign)), None)
        fault = "" if odd is None else f"has the sign {odd!r} in it"
    if fault:
        raise BadPerson(
            f"A name of 1 to {LONGEST_NAME} letters, digits, spaces or . ' - _ was expected, and {text[:60]!r} {fault}."
        )
    return name


def same_name(name: str) -> str:
    """Return what two spellings of one name have in common: upper or lower case, spaces and composition are ignored."""
    return unicodedata.normalize("NFC", " ".join(unicodedata.normalize("NFKC", name).casefold().split()))


def shown_file_name(text: str) -> str:
    """Return the name of a file that somebody sent, for showing: its last part, without signs that steer a text."""
    last = text.replace("\\", "/").rpartition("/")[2]
    name = "".join(sign for sign in unicodedata.normalize("NFC", last) if unicodedata.category(sign)[0] != "C")
    name = " ".join(name.split()).strip(".")
    return name[:LONGEST_FILE_NAME] or "a recording"


def _in_a_name(sign: str) -> bool:
    return unicodedata.category(sign)[0] in "LNM" or sign in _BESIDE_LETTERS
