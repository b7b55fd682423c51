"""Who played what, as people type it, and as it is written back.

Musicians are parted by commas, by semicolons or by lines; where there is a semicolon or a second line, a comma belongs
to a name. Of each it is said what they play, before the name or after it::

    sitar: Asha Rao, tabla: B. Sen
    Asha Rao: sitar; Sen, B. (tabla)
    Asha Rao (sitar, surbahar) - two entries, one for each

Whether an instrument comes before a colon or after it is told by the instrument, where it is one that we know;
otherwise it comes before. What cannot be told is refused with an example, never cut.
"""

from __future__ import annotations

import re

from annotate.errors import BadAnnotation
from annotate.history.words import Musicians

KNOWN = frozenset(
    re.findall(
        r"\w+",
        "sitar surbahar sarod sarangi bansuri flute shehnai esraj dilruba santoor santur violin viola cello mandolin "
        "guitar veena vina been sursingar swarmandal jaltarang harmonium organ piano keyboard tanpura tambura tamboura "
        "tabla dayan bayan pakhawaj mridangam dholak dhol naal ghatam kanjira manjira khartal drums percussion "
        "voice vocal vocals singing singer song saxophone clarinet trumpet oud rabab rubab banjo harp",
    )
)
"""What is played, as far as it is known here. Common practice, no source."""
KINDS = frozenset(re.findall(r"\w+", "slide bass solo second first lead accompanying electric rudra vichitra box"))
"""What may stand beside an instrument's name."""

_HOW = "Say of each what they play: 'sitar: Asha Rao, tabla: B. Sen', or 'Asha Rao (sitar)'."
_BRACKETS = re.compile(r"(?P<name>[^()]+)\((?P<plays>[^()]+)\)")
_SIDES = re.compile(r"\s*:\s*|\s+[-\u2013\u2014]\s+")


def read_musicians(text: str) -> Musicians:
    """Read who played what.

    Raises
    ------
    BadAnnotation
        Of somebody it is not said what they play, or it cannot be told; shows the place and how to write it.
    """
    entries = [entry.strip() for entry in _entries(text)]
    return tuple(pair for entry in entries if entry for pair in _pairs(entry))


def _entries(text: str) -> list[str]:
    """Part a text where musicians end; within brackets nobody ends."""
    ends = ";\n" if re.search(r"[;\n]", text) else ","
    entries, depth = [""], 0
    for each in text:
        depth = max(depth + (each == "(") - (each == ")"), 0)
        if each in ends and depth == 0:
            entries.append("")
        else:
            entries[-1] += each
    return entries


def _pairs(entry: str) -> list[tuple[str, str]]:
    if entry.count("(") != entry.count(")"):
        raise BadAnnotation(f"In '{entry}' a bracket is open. {_HOW}")
    sides = _SIDES.split(entry)
    if len(sides) == 1:
        return _from_brackets(entry)
    if len(sides) > 2 or not all(sides):
        raise BadAnnotation(
            f"In '{entry}' it cannot be told who plays what: one colon, something on both sides. {_HOW}"
        )
    first, second = sides
    if _is_played(second) and _is_played(first):
        raise BadAnnotation(f"In '{entry}' both are instruments, and nobody plays them. {_HOW}")
    return [(second, first)] if _is_played(second) else [(first, second)]


def _from_brackets(entry: str) -> list[tuple[str, str]]:
    match = _BRACKETS.fullmatch(entry)
    if match is None or not match["name"].strip():
        raise BadAnnotation(f"Of '{entry}' it is not said what they play, or who plays it. {_HOW}")
    name = match["name"].strip()
    played = [each.strip() for each in re.split(r"[,;/]|\s+and\s+", match["plays"])]
    if not all(played):
        raise BadAnnotation(f"In '{entry}' something is missing within the brackets. {_HOW}")
    if _is_played(name) and not all(map(_is_played, played)):  # 'tabla (B. Sen)'
        return [(name, match["plays"].strip())]
    return [(each, name) for each in played]


def _is_played(text: str) -> bool:
    words = set(re.findall(r"[^\W\d_]+", text.casefold()))
    return bool(words & KNOWN) and words <= KNOWN | KINDS
