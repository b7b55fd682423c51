"""Reading notation typed in plain text, in swaras or bols: one word is one matra.

Conventions, as the trade types them:

* Swaras ``S r R g G m M P d D n N``; ``S'`` upper octave, ``.n`` lower octave (doubled for two octaves).
* Bols begin with a capital letter each: ``Dha``, ``DhaGe``, ``TiRaKiTa``.
* Several in one word share its matra equally: ``SR``, ``TiRaKiTa``. ``-`` prolongs the one before, also across words
  (``S - -``, ``S-Rg``, ``-Dha``); with nothing before it, it is silent. ``_`` is silence.
* ``|`` marks a vibhag and is checked against the tala when one is given. A comma after a word is a breath and has
  no length.
* ``Dha:1/2`` is a word that lasts half a matra instead of one; any length may follow the colon (``S:2`` is ``S -``).

The vocabulary of bols is open, since every gharana has its own: any word of that shape is accepted. What a bol does on
the drums is looked up in :mod:`theory.bols`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from itertools import takewhile
from typing import Literal, Protocol

from theory.errors import NotationError
from theory.numbers import spoken
from theory.passage import EMPTY, Note, Passage, System, join, silence
from theory.swaras import letters

__all__ = ["EMPTY", "Note", "Passage", "join", "parse", "silence"]

_TOKEN = re.compile(r"\s+|(?P<bar>\|+)|(?P<word>[^\s|,]+)|(?P<comma>,)")
_LENGTH = re.compile(r"(\d{1,3})(?:/(\d{1,3}))?")
_TYPED = str.maketrans({"’": "'", "‘": "'", "′": "'", "–": "-", "—": "-", "−": "-", "।": "|", "॥": "|"})
_FULL_NAMES = frozenset(("Sa", "Re", "Ga", "Ma", "Pa", "Dha", "Ni"))
_ONLY_SWARAS = frozenset(("Sa", "Ma", "Pa", "Ni"))  # the full names that no bol shares
_HOLD, _SILENCE = "-", "_"


class Vibhags(Protocol):
    """What the parser needs to know of a tala."""

    @property
    def matras(self) -> int:
        """How many matras an avartan has."""

    @property
    def vibhag_starts(self) -> tuple[int, ...]:
        """The matra numbers on which vibhags begin."""


@dataclass(frozen=True, slots=True)
class _Word:
    """A word once read: words repeat, so each is read once. Places and lengths in matras from its beginning."""

    lead: Fraction  # how long it prolongs what sounded before it
    notes: tuple[Note, ...]
    leaves_silence: bool | None  # whether nothing sounds at its end; None when it is all hold: then as before
    length: Fraction


def parse(text: str, tala: Vibhags | None = None, start: Fraction | int = 1) -> Passage:
    """Read a passage of swaras or of bols; which of the two is seen from the words.

    Parameters
    ----------
    text : str
        The notation, as this module's opening describes.
    tala : Tala, optional
        When given, every ``|`` must stand where a vibhag of the tala begins.
    start : Fraction, optional
        The matra of the tala on which the passage begins; sam is 1.

    Returns
    -------
    Passage
        Its notes, their onsets and lengths in matras from the passage's start, and its whole length.

    Raises
    ------
    NotationError
        When a word does not parse or a bar stands in the wrong place; shows the place with a caret.
    """
    return _parsed(text) if tala is None else _read(text, tala, start)


@lru_cache(maxsize=4096)
def _parsed(text: str) -> Passage:
    """Remembered, because the same palla is asked for its length, its onsets, its sum and its kind."""
    return _read(text, None, 1)


def _read(text: str, tala: Vibhags | None, start: Fraction | int) -> Passage:
    typed = text.translate(_TYPED)
    system = _system_of(typed, text)
    words: dict[str, _Word] = {}
    notes: list[Note] = []
    silent = True  # whether a hold has nothing to prolong
    here = Fraction(0)
    for found in _TOKEN.finditer(typed):
        if found.lastgroup == "bar":
            _check_bar(text, found.start(), tala, start + here)
        if found.lastgroup != "word":
            continue
        written = found["word"]
        word = words.get(written)
        if word is None:
            word = words[written] = _read_word(written, system, text, found.start())
        if word.lead and not silent:
            held = notes.pop()
            notes.append(Note(held.symbol, held.onset, held.length + word.lead))
        for note in word.notes:
            notes.append(Note(note.symbol, here + note.onset if note.onset else here, note.length))
        if word.leaves_silence is not None:
            silent = word.leaves_silence
        here += word.length
    return Passage(system if notes else "empty", tuple(notes), here)


@cache
def _word_shape(system: System) -> re.Pattern[str]:
    """Return the pattern of one part of a word: a swara or bol, a hold or a silence."""
    swara = rf"\.{{1,2}}[{letters()}](?!')|[{letters()}]'{{0,2}}"
    bol = r"[A-Z][a-z]+"
    return re.compile({"sargam": rf"{swara}|[-_]", "bols": rf"{bol}|[-_]", "empty": "[-_]"}[system])


def _split(body: str, system: System) -> tuple[tuple[str, ...], int]:
    """Split a word into its parts as far as it goes; return them and the column where it stops."""
    parts: list[str] = []
    column = 0
    shape = _word_shape(system)
    while column < len(body) and (found := shape.match(body, column)) is not None:
        parts.append(found[0])
        column = found.end()
    return tuple(parts), column


def _system_of(typed: str, text: str) -> System:
    """See from the first sounding word whether the passage is in swaras or in bols."""
    sounding = [found for found in _TOKEN.finditer(typed) if found["word"] and found["word"].strip("-_:/0123456789")]
    if not sounding:
        return "empty"
    bodies = {found["word"].partition(":")[0] for found in sounding}
    names = {part for body in bodies for part in _split(body, "bols")[0]} - {_HOLD, _SILENCE}
    if names <= _FULL_NAMES and names & _ONLY_SWARAS:
        why = f"Write swaras as letters ({' '.join(letters())}), not by their names."
        raise NotationError(text, sounding[0].start(), why)
    first = sounding[0]["word"].partition(":")[0]
    systems: tuple[Literal["sargam"], Literal["bols"]] = ("sargam", "bols")
    return max(systems, key=lambda system: _split(first, system)[1])


def _read_word(written: str, system: System, text: str, column: int) -> _Word:
    body, colon, tail = written.partition(":")
    parts, stopped = _split(body, system)
    if stopped < len(body):
        raise NotationError(text, column + stopped, _why(body, stopped, system))
    if not parts:
        raise NotationError(text, column, "Expected swaras or bols before the colon.")
    if not colon:
        return _word(parts, Fraction(1))
    found = _LENGTH.fullmatch(tail)
    if found is None or int(found[1]) == 0 or int(found[2] or 1) == 0:
        raise NotationError(text, column + len(body) + 1, "Expected the word's length after the colon: 1/2, 3/4, 2.")
    return _word(parts, Fraction(int(found[1]), int(found[2] or 1)))


def _word(parts: tuple[str, ...], length: Fraction) -> _Word:
    step = length / len(parts)
    lead = len(list(takewhile(lambda part: part == _HOLD, parts)))
    notes: list[Note] = []
    silent = True
    for place, part in enumerate(parts[lead:], lead):
        if part == _SILENCE:
            silent = True
        elif part != _HOLD:
            notes.append(Note(part, place * step, step))
            silent = False
        elif not silent:
            notes.append(Note(notes[-1].symbol, notes[-1].onset, notes.pop().length + step))
    return _Word(lead * step, tuple(notes), None if lead == len(parts) else silent, length)


def _why(body: str, stopped: int, system: System) -> str:
    other: System = "bols" if system == "sargam" else "sargam"
    if _split(body, other)[1] == len(body):
        names = {"sargam": "swaras", "bols": "bols"}
        return f"Swaras and bols do not mix: the passage began in {names[system]}, but '{body}' is in {names[other]}."
    told, held = f"'{body[stopped:]}' came", "- to hold the one before, or _ for silence"
    if system == "sargam":
        return f"Expected a swara ({' '.join(letters())}; S' higher, .n lower), {held}, but {told}."
    return f"Expected a bol (each begins with a capital letter: Dha, TiRaKiTa), {held}, but {told}."


def _check_bar(text: str, column: int, tala: Vibhags | None, position: Fraction) -> None:
    if tala is None:
        return
    matra = (position - 1) % tala.matras + 1
    if matra not in tala.vibhag_starts:
        starts = ", ".join(str(number) for number in tala.vibhag_starts)
        why = f"This bar stands before matra {spoken(matra)}, but vibhags begin on {starts}: count the words before it."
        raise NotationError(text, column, why)
