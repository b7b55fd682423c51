"""The fonts of a sheet, which it carries within itself, and how wide their letters are.

Noto Serif and Noto Sans Devanagari, under the SIL Open Font License 1.1 (``OFL.txt`` beside them). What was left out,
and which signs were joined to the Devanagari letters: ``tests/annotate/practice/make_fonts.py``, which makes them.
Widths are upper bounds where letters join: a conjunct is narrower than its parts.
"""

from __future__ import annotations

import base64
import json
import re
import unicodedata
from functools import cache
from importlib.resources import files
from typing import Any, Literal

Face = Literal["text", "italic", "bold", "devanagari"]
_FILES: dict[Face, str] = {
    "text": "NotoSerif-Regular",
    "italic": "NotoSerif-Italic",
    "bold": "NotoSerif-Bold",
    "devanagari": "NotoSansDevanagari-Regular",
}
_DEVANAGARI = re.compile(r"[\u0900-\u097f]")


def is_devanagari(text: str) -> bool:
    """Tell whether a text has Devanagari letters."""
    return bool(_DEVANAGARI.search(text))


def face_of(text: str, face: Face = "text") -> Face:
    """Return the face that a text is set in: the one wished for, Devanagari where it has such letters."""
    return "devanagari" if is_devanagari(text) else face


def width_of(text: str, size: float, face: Face = "text") -> float:
    """Return how wide a text is at a size, in the unit of the size. A letter that no font has counts as a wide one."""
    letters, spare = _measures()[_FILES[face_of(text, face)]]["letters"], _measures()[_FILES[face]]["letters"]
    wide = sum(letters.get(each, spare.get(each, 0 if unicodedata.combining(each) else 1000)) for each in text)
    return size * wide / 1000


def ascent_and_descent(face: Face) -> tuple[float, float]:
    """Return how far a face reaches above and below its line, as shares of its size."""
    measures = _measures()[_FILES[face]]
    return measures["ascent"] / 1000, measures["descent"] / 1000


@cache
def font_data(face: Face) -> str:
    """Return a font as the address that a style sheet takes: ``data:font/woff;base64,...``."""
    content = (files(__name__) / f"{_FILES[face]}.woff").read_bytes()
    return f"data:font/woff;base64,{base64.b64encode(content).decode()}"


def font_licence() -> bytes:
    """Return the text of the fonts' licence, which goes wherever they go."""
    return (files(__name__) / "OFL.txt").read_bytes()


@cache
def _measures() -> dict[str, Any]:
    measures: dict[str, Any] = json.loads((files(__name__) / "widths.json").read_text(encoding="ascii"))
    return measures
