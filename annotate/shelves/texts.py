"""What is asked of the texts of whatever is kept: how long they may be, and that they are text."""

from __future__ import annotations

import unicodedata

from annotate.shelves.errors import BadThing


def require_text(what: str, text: str, longest: int, *, lines: bool = False) -> None:
    """Refuse a text that is too long, or holds what is no text; with ``lines`` it may have several.

    Raises
    ------
    BadThing
    """
    if len(text) > longest:
        raise BadThing(f"The {what} has {len(text)} characters: at most {longest} are kept.")
    allowed = "\n\t" if lines else ""
    strange = [sign for sign in text if unicodedata.category(sign) in ("Cc", "Cs") and sign not in allowed]
    if strange:
        raise BadThing(f"The {what} holds a character that is no text (U+{ord(strange[0]):04X}): take it out.")


def require_name(what: str, name: str, longest: int) -> None:
    """Refuse a name of no letters and digits, or one that is too long; ``what``: "the composition".

    Raises
    ------
    BadThing
    """
    require_text("name", name, longest)
    if not any(character.isalnum() for character in name):
        raise BadThing(f"{what[0].upper()}{what[1:]} has no name: write one with a letter or a digit in it.")
