"""A passage laid out by avartans and vibhags, with the claps and khalis above: for the terminal and for a page.

Conventions: one cell is one matra of the tala. A matra that the passage does not reach is an empty cell; in one that it
enters in the middle, the part before is silence (``_``). Three scripts: "typed" as in :mod:`theory.notation`, "latin"
and "devanagari" with Bhatkhande's signs.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from html import escape
from itertools import accumulate
from typing import Literal

from theory.bhatkhande import spelled
from theory.errors import TheoryError
from theory.notation_print import words
from theory.numbers import spoken
from theory.passage import Passage, join, silence
from theory.swaras import split_symbol
from theory.talas import Tala

Script = Literal["typed", "latin", "devanagari"]

_SAID = {"-": "held", "_": "silence"}
_OCTAVES = {-2: "lowest octave", -1: "lower octave", 0: "", 1: "upper octave", 2: "highest octave"}


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign of a matra as it is written, and in words where that says more ("komal Re, upper octave")."""

    written: str
    said: str


@dataclass(frozen=True, slots=True)
class Cell:
    """One matra: its number in the avartan, from 1, and its words, each of its signs; none where nothing is written."""

    matra: int
    words: tuple[tuple[Sign, ...], ...]

    @property
    def text(self) -> str:
        """What is written in it."""
        return " ".join("".join(sign.written for sign in word) for word in self.words)


@dataclass(frozen=True, slots=True)
class Layout:
    """A passage laid out: a row of cells for each avartan, as many as the tala has matras."""

    tala: Tala
    script: Script
    avartans: tuple[tuple[Cell, ...], ...]

    @property
    def marks(self) -> tuple[tuple[str, str], ...]:
        """For each vibhag its sign, and that in words ("X", "sam"); both '' where they are not known."""
        known = {mark.matra: (mark.label, mark.kind) for mark in self.tala.marks}
        signs = []
        for start in self.tala.vibhag_starts:
            label, kind = known.get(start, ("", ""))
            clap = "khali" if kind == "khali" else f"clap {label}" if start > 1 else "clap"
            signs.append((label, "" if not label else f"sam, {clap}" if start == 1 else clap))
        return tuple(signs)


def lay_out(passage: Passage, tala: Tala, start: Fraction | int = 1, script: Script = "typed") -> Layout:
    """Lay a passage out by avartans.

    Parameters
    ----------
    passage : Passage
        Swaras or bols.
    tala : Tala
        The tala whose matras are the cells.
    start : Fraction
        The matra of the tala on which the passage begins, from 1 up to, not with, M + 1.
    script : {"typed", "latin", "devanagari"}
        How it is written.

    Raises
    ------
    TheoryError
        When the start lies outside the tala.
    """
    if not 1 <= start < tala.matras + 1:
        raise TheoryError(f"Matra {spoken(Fraction(start))} is not in {tala.name}: begin on 1 up to {tala.matras}.")
    before, inside = divmod(Fraction(start) - 1, 1)
    whole = join((silence(inside), passage)) if inside else passage
    written = whole if script == "typed" else spelled(whole, script)
    matras: dict[int, list[tuple[Sign, ...]]] = {}
    for plain, shown in zip(words(whole), words(written), strict=True):
        pairs = zip(shown.signs, plain.signs, strict=True)
        signs = tuple(Sign(sign, _said(typed, sign, passage.system == "sargam")) for sign, typed in pairs)
        tail = (Sign(shown.length, ""),) if shown.length else ()
        matras.setdefault(before + plain.place // 1, []).append((*signs, *tail))
    last = max(matras, default=0)
    rows = range(last // tala.matras + 1)
    return Layout(
        tala,
        script,
        tuple(
            tuple(Cell(matra + 1, tuple(matras.get(row * tala.matras + matra, ()))) for matra in range(tala.matras))
            for row in rows
        ),
    )


def _said(typed: str, shown: str, sargam: bool) -> str:
    """Say a sign in words, where that says more than what is shown."""
    if typed in _SAID:
        return _SAID[typed]
    if sargam:
        swara, octave = split_symbol(typed)
        return ", ".join(filter(None, (swara.name, _OCTAVES[octave])))
    return "" if shown == typed else typed


def legend(tala: Tala) -> str:
    """Say the signs of a tala in a line: "X sam, 2 3 claps, 0 khali"."""
    later = " ".join(mark.label for mark in tala.marks[1:] if mark.kind == "tali")
    khali = any(mark.kind == "khali" for mark in tala.marks[1:])
    parts = ["0 on matra 1: sam is khali" if tala.marks[0].kind == "khali" else f"{tala.marks[0].label} sam"]
    parts += [f"{later} {'claps' if ' ' in later else 'clap'}"] if later else []
    parts += ["0 khali"] if khali else []
    parts += [] if tala.marks_known else ["other marks not transcribed"]
    return ", ".join(parts)


def to_terminal(layout: Layout, width: int = 100, first_avartan: int = 1, numbered: bool = False) -> str:
    """Write a layout as plain lines, its columns aligned through all avartans.

    Parameters
    ----------
    layout : Layout
        What to write.
    width : int
        How many columns the terminal has; an avartan that is wider is broken between vibhags, never within one.
    first_avartan : int
        Number of the first avartan.
    numbered : bool
        Write the numbers of the matras under the signs.

    Returns
    -------
    str
        A line of signs, then a line for each avartan, begun by its number; where avartans are broken, each part has its
        own line of signs.
    """
    columns = [max(_width(cell.text) for cell in column) for column in zip(*layout.avartans, strict=True)]
    for start, (label, _) in zip(layout.tala.vibhag_starts, layout.marks, strict=True):
        columns[start - 1] = max(columns[start - 1], len(label), 1)
    signs = [""] * len(columns)
    for start, (label, _) in zip(layout.tala.vibhag_starts, layout.marks, strict=True):
        signs[start - 1] = label
    heads = [signs]
    if numbered:
        heads.append([str(matra) for matra in range(1, len(columns) + 1)])
        columns = [max(column, len(number)) for column, number in zip(columns, heads[-1], strict=True)]
    margin = len(str(first_avartan + len(layout.avartans) - 1))
    parts = list(_broken(layout.tala.vibhags, columns, width - margin - 1))
    lines: list[str] = []
    for number, cells in enumerate(layout.avartans, first_avartan):
        for part in parts:
            if number == first_avartan or len(parts) > 1:
                lines += [" " * margin + _line(layout, part, columns, head, "   ") for head in heads]
            margin_text = str(number) if part is parts[0] else ""
            lines.append(f"{margin_text:>{margin}}" + _line(layout, part, columns, [c.text for c in cells], " | "))
    return "\n".join(line.rstrip() for line in lines)


def _broken(vibhags: Sequence[int], columns: Sequence[int], width: int) -> Iterator[range]:
    """Yield runs of vibhags (their places) that fit into a width."""
    ends = list(accumulate(vibhags))
    wide = [sum(columns[end - length : end]) + length + 2 for length, end in zip(vibhags, ends, strict=True)]
    first, used = 0, 0
    for place, each in enumerate(wide):
        if place > first and used + each > width:
            yield range(first, place)
            first, used = place, 0
        used += each
    yield range(first, len(wide))


def _line(layout: Layout, part: range, columns: Sequence[int], texts: Sequence[str], bar: str) -> str:
    """Write a text for each matra of a run of vibhags, with a bar around each of these."""
    written = []
    for place in part:
        start, length = layout.tala.vibhag_starts[place] - 1, layout.tala.vibhags[place]
        padded = (text + " " * (columns[start + at] - _width(text)) for at, text in enumerate(texts[start:][:length]))
        written.append(" ".join(padded))
    return bar + bar.join(written) + bar


def _width(text: str) -> int:
    """Return how many columns of a terminal a text takes: signs above and below a letter take none."""
    return sum(0 if unicodedata.category(letter) in ("Mn", "Me", "Cf") else 1 for letter in text)


def to_html(layout: Layout, caption: str = "") -> str:
    """Write a layout as an HTML table: avartans are rows, vibhags groups of columns, everything escaped.

    Parameters
    ----------
    layout : Layout
        What to write.
    caption : str
        What the table shows; left out, the tala with its signs in words.

    Returns
    -------
    str
        One ``<table class="notation">``. Row and column headers carry their scope; a sign that a reader may not know
        has its words in ``<abbr title>``.
    """
    said = caption or f"{layout.tala.name}, {layout.tala.matras} matras: {legend(layout.tala)}"
    language = ' lang="hi"' if layout.script == "devanagari" else ""
    lines = ['<table class="notation">', f"<caption>{escape(said)}</caption>", "<colgroup><col></colgroup>"]
    lines += [f'<colgroup span="{length}"></colgroup>' for length in layout.tala.vibhags]
    lines += ["<thead>", '<tr><th scope="col" rowspan="2">avartan</th>']
    for (label, words_), length in zip(layout.marks, layout.tala.vibhags, strict=True):
        lines.append(f'<th scope="colgroup" colspan="{length}">{_abbr(label, words_)}</th>')
    numbers = "".join(f'<th scope="col">{matra}</th>' for matra in range(1, layout.tala.matras + 1))
    lines += ["</tr>", f"<tr>{numbers}</tr>", "</thead>", f"<tbody{language}>"]
    for number, cells in enumerate(layout.avartans, 1):
        lines.append(f'<tr><th scope="row">{number}</th>{"".join(map(_td, cells))}</tr>')
    return "\n".join([*lines, "</tbody>", "</table>"])


def _td(cell: Cell) -> str:
    written = ("".join(_abbr(sign.written, sign.said) for sign in word) for word in cell.words)
    return f"<td>{' '.join(written)}</td>"


def _abbr(written: str, said: str) -> str:
    return f'<abbr title="{escape(said)}">{escape(written)}</abbr>' if said else escape(written)
