"""Notation under the matras: one system for each avartan, folded at sam, as in an engraved book.

From above: brackets over the pallas, claps and khali, the numbers of the matras, the notes with an arc under those that
share a matra, the theka, and the strings with their frets.

Conventions: lengths in points. Every matra is equally wide, through all systems of a passage. An avartan that would be
too wide is broken between vibhags, and only where a vibhag is too wide within it. A last note that comes alone on a
sam, as the landing does, stands at the end of the row before.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import accumulate, groupby, pairwise

from annotate.practice.sheets.drawing import ACCENT, GREY, INK, PALE, Drawing, Places
from annotate.practice.sheets.fonts import width_of
from annotate.practice.sheets.written import Sign, signs_of
from theory.fingering import Place
from theory.fretboard import Fretboard, note_name
from theory.layout import Script
from theory.passage import Passage
from theory.talas import Tala

LEFT, CLOSING = 24.0, 26.0  # beside the first matra, and the column of the sam that closes a row
SIZES = (11.5, 10.0, 8.8, 8.0)  # of the notes, the best first
SMALL = 6.4  # numbers and theka
INSET = 1.8  # kept free on either side of a matra, so that what shares it stands apart from the next
TAB_GAP, TAB_SIZE = 8.0, 7.6
WIDEST, WIDEST_FREE = 84.0, 50.0  # a matra, where it needs no more
FREE_LINE = 12  # so many matras stand on a line where nothing is counted


@dataclass(frozen=True)
class Span:
    """A stretch with a bracket over it, in matras from the passage's beginning, and what stands on the bracket.

    An *inner* one lies under the others' brackets: a phrase of a chakradar's round.
    """

    begin: Fraction
    end: Fraction
    label: str
    inner: bool = False


@dataclass(frozen=True)
class Written:
    """What is set in systems.

    Attributes
    ----------
    passage : Passage
    tala : Tala or None
        None where nothing is counted: then lines of so many units follow each other.
    start : Fraction
        The matra it begins on.
    script : {"latin", "devanagari", "typed"}
    spans : tuple of Span
    lands : Fraction or None
        Where the landing stroke comes, from the passage's beginning; it may follow the passage.
    board : Fretboard or None
        For the tab.
    places : tuple of Place
        One for every note, with the board.
    """

    passage: Passage
    tala: Tala | None
    start: Fraction
    script: Script
    spans: tuple[Span, ...] = ()
    lands: Fraction | None = None
    board: Fretboard | None = None
    places: tuple[Place, ...] = ()

    @cached_property
    def signs(self) -> tuple[Sign, ...]:
        """Everything that is printed, in order."""
        return signs_of(self.passage, self.start, self.script)

    @cached_property
    def frets(self) -> dict[Fraction, Place]:
        """Where on the strings each note is played, by its place."""
        notes = (each.place for each in self.signs if each.kind == "note")
        return dict(zip(notes, self.places, strict=True)) if self.places else {}

    @cached_property
    def matras(self) -> int:
        """How many matras a row has."""
        return self.tala.matras if self.tala is not None else max(1, math.ceil(self.passage.length))

    @cached_property
    def landing(self) -> Fraction | None:
        """Where the landing comes, from a sam at 0."""
        return None if self.lands is None else self.start - 1 + self.lands

    @cached_property
    def closing(self) -> Fraction | None:
        """The sam on which the last note comes alone, which then closes the row before it; None where none does."""
        if self.tala is None:
            return None
        last = self.landing
        if last is None:
            note = [each for each in self.signs if each.kind == "note"][-1]
            ends = self.start - 1 + self.passage.length
            last = note.place if ends - note.place <= 1 else Fraction(-1)
        alone = last > 0 and last % self.matras == 0
        return last if alone and not any(each.kind == "note" and each.place > last for each in self.signs) else None

    @cached_property
    def rows(self) -> int:
        """How many avartans are written."""
        if self.closing is not None:
            return int(self.closing) // self.matras
        last = max([each.place for each in self.signs] + ([self.landing] if self.landing is not None else []))
        return int(last // self.matras) + 1


def systems(written: Written, places: Places, width: float) -> list[Drawing]:
    """Set a passage; one drawing for each avartan."""
    setting = _setting(written, width)
    return [_Row(written, setting, row, places, width).drawn() for row in range(written.rows)]


@dataclass(frozen=True)
class _Setting:
    """How wide a matra is, how large the notes are, and which matras (from 0) stand on each line of an avartan."""

    matra: float
    size: float
    lines: tuple[range, ...]


def _setting(written: Written, width: float) -> _Setting:
    """Choose the fewest lines for an avartan in which the notes have room."""
    room = width - LEFT - (CLOSING if written.closing is not None else 4.0)
    lines: tuple[range, ...] = ()
    for lines in _ways(written):
        matra = room / max(map(len, lines))
        for size in SIZES:
            need = _need(written, size)
            if need <= matra:
                widest = WIDEST if written.tala is not None else WIDEST_FREE
                return _Setting(min(matra, max(need, widest)), size, lines)
    matra = room / max(map(len, lines))  # more notes in a matra than a line holds: they are set smaller
    return _Setting(matra, SIZES[-1] * (matra - 2 * INSET) / _need(written, SIZES[-1]), lines)


def _ways(written: Written) -> Iterator[tuple[range, ...]]:
    """Yield ways to break an avartan into lines, the fewest lines first."""
    if written.tala is None:
        longest = min(written.matras, FREE_LINE)
        vibhags: tuple[int, ...] = (written.matras,)
    else:
        vibhags = written.tala.vibhags
        longest = max(vibhags)
        for count in range(1, len(vibhags) + 1):
            yield tuple(_grouped(vibhags, count))
    starts = [0, *accumulate(vibhags)]
    for most in range(longest, 0, -1):
        yield tuple(
            range(first, min(first + most, end)) for begin, end in pairwise(starts) for first in range(begin, end, most)
        )


def _grouped(vibhags: Sequence[int], count: int) -> list[range]:
    """Group vibhags into at most so many lines, the longest as short as can be."""
    for longest in range(max(vibhags), sum(vibhags) + 1):
        lines, first, here = [], 0, 0
        for vibhag in vibhags:
            if here - first + vibhag > longest:
                lines.append(range(first, here))
                first = here
            here += vibhag
        lines.append(range(first, here))
        if len(lines) <= count:
            return lines
    raise AssertionError("all vibhags fit on a line that is as long as all of them")


def _need(written: Written, size: float) -> float:
    """Return how wide a matra must be for the widest of them."""
    matras = groupby(written.signs, key=lambda each: each.place // 1)
    needed = [sum(_room(written, each, size) for each in signs) + 2 * INSET for _, signs in matras]
    return max([*needed, *(sum(map(_theka_room, group)) + 4 for group in _theka(written))])


def _room(written: Written, sign: Sign, size: float) -> float:
    """Return how much a sign needs with what keeps it from the next: bols begin with a capital, so that little does."""
    place = written.frets.get(sign.place) if sign.kind == "note" else None
    fret = width_of(_fret_text(place), TAB_SIZE) + 1.8 if place is not None else 0.0
    between = 0.13 if written.passage.system == "bols" else 0.22
    return max(width_of(sign.written, size) + between * size, fret)


def _fret_text(place: Place) -> str:
    return f"{place.fret}" + (f"+{place.bend}" if place.bend else "")


def _theka_room(sign: Sign) -> float:
    return width_of(sign.written, SMALL) + 0.12 * SMALL


def _theka(written: Written) -> list[list[Sign]]:
    """Return the theka under swaras, matra by matra."""
    tala = written.tala
    if tala is None or not tala.theka_known or written.passage.system != "sargam":
        return []
    signs = signs_of(tala.theka, Fraction(1), written.script)
    return [list(group) for _, group in groupby(signs, key=lambda each: each.place // 1)]


@dataclass(frozen=True)
class _Heights:
    """Where each layer of a line stands, from its upper edge."""

    bracket: float
    sign: float
    number: float
    note: float
    theka: float
    tab: float
    end: float


def _heights(written: Written, size: float) -> _Heights:
    bracket = 9.0 if written.spans or written.lands is not None else 0.0
    inner = bracket + 8.0 if any(span.inner for span in written.spans) else bracket
    sign = inner + 11.0 if written.tala is not None else inner
    number = sign + 8.0 if written.tala is not None else sign
    note = number + 1.5 * size
    below = 19.0 if written.lands is not None else 13.0  # room for the triangle of the landing
    theka = note + (below if _theka(written) else below - 8.0)
    strings = len(written.board.courses) if written.board is not None else 0
    tab = theka + 9.0
    return _Heights(bracket, sign, number, note, theka, tab, tab + TAB_GAP * strings if strings else theka + 4.0)


class _Row:
    """One avartan as it is drawn."""

    def __init__(self, written: Written, setting: _Setting, row: int, places: Places, width: float) -> None:
        self.written, self.setting, self.row = written, setting, row
        self.heights = _heights(written, setting.size)
        self.first = Fraction(row * written.matras)
        self.lines = [matras for matras in setting.lines if self._is_used(matras)]
        said = f"Avartan {row + 1}" if written.tala is not None else "Line"
        self.drawing = Drawing(places, width, self.heights.end * len(self.lines), said)

    def drawn(self) -> Drawing:
        for line, matras in enumerate(self.lines):
            self._line(line, matras)
        return self.drawing

    def _is_used(self, matras: range) -> bool:
        """Tell whether anything is written on a line: of a broken avartan the lines before and after are left out."""
        begin, end = self.first + matras.start, self.first + matras.stop
        lands = self.written.landing is not None and begin <= self.written.landing < end
        return lands or self.written.closing == end or any(begin <= sign.place < end for sign in self.written.signs)

    def _x(self, matras: range, place: Fraction) -> float:
        """Where a place stands on a line, in points; at its ends where it lies outside."""
        inside = min(max(place - self.first, Fraction(matras.start)), Fraction(matras.stop))
        return LEFT + self.setting.matra * float(inside - matras.start)

    def _line(self, line: int, matras: range) -> None:
        top = line * self.heights.end
        begin, end = self.first + matras.start, self.first + matras.stop
        closes = self.written.closing == end
        self._ruled(top, matras, closes)
        if line == 0 and self.written.tala is not None and self.written.rows > 1:
            self.drawing.text(
                0, top + self.heights.note, str(self.row + 1), size=9, anchor="start", face="italic", ink=GREY
            )
        self._spans(top, matras, end + 1 if closes else end, closes)
        here = [each for each in self.written.signs if begin <= each.place < end]
        for _, signs in groupby(here, key=lambda each: each.place // 1):
            self._matra(top, matras, list(signs))
        self._theka(top, matras)
        if closes:
            self._closed(top, matras)
        elif self.written.landing is not None and begin <= self.written.landing < end:
            self._landing(top, self._x(matras, self.written.landing), matras)

    def _ruled(self, top: float, matras: range, closes: bool) -> None:
        """Bars, claps, numbers, strings."""
        tala, heights, drawing = self.written.tala, self.heights, self.drawing
        right = self._x(matras, self.first + matras.stop)
        foot = (
            heights.tab + TAB_GAP * (len(self.written.board.courses) - 1) if self.written.board else heights.theka + 2
        )
        if self.written.board is not None:
            for number, course in enumerate(reversed(self.written.board.courses)):
                y = top + heights.tab + TAB_GAP * number
                drawing.line(LEFT, y, right + (CLOSING if closes else 0), y, stroke=PALE, width=0.5)
                name = note_name(course.pitch).rstrip("-0123456789")
                drawing.text(LEFT - 4, y + 2.2, name, size=SMALL, anchor="end", ink=GREY)
        if tala is None:
            return
        labels = {mark.matra: mark.label for mark in tala.marks}
        for start in (*tala.vibhag_starts, tala.matras + 1):
            if matras.start < start <= matras.stop + 1 or start == matras.start + 1:
                x = self._x(matras, self.first + start - 1)
                sam = start in (1, tala.matras + 1)
                drawing.line(
                    x, top + heights.number - 6, x, top + foot, stroke=INK if sam else PALE, width=1.1 if sam else 0.6
                )
        for matra in matras:
            middle = LEFT + self.setting.matra * (matra - matras.start + 0.5)
            drawing.text(middle, top + heights.number, str(matra + 1), size=SMALL, ink=GREY)
            label = labels.get(matra + 1, "")
            drawing.text(middle, top + heights.sign, label, size=8.6, face="bold", ink=ACCENT if matra == 0 else INK)
        if closes:
            x = right + CLOSING / 2
            drawing.text(x, top + heights.number, "1", size=SMALL, ink=GREY)
            drawing.text(x, top + heights.sign, tala.marks[0].label, size=8.6, face="bold", ink=ACCENT)

    def _matra(self, top: float, matras: range, signs: list[Sign]) -> None:
        """Set the signs of one matra, each in its share of it, pushed apart where they need more."""
        size, left = self.setting.size, self._x(matras, Fraction(signs[0].place // 1)) + INSET
        inside = self.setting.matra - 2 * INSET
        rooms = [_room(self.written, each, size) for each in signs]
        ideal = [left + inside * float(each.place % 1 + each.length / 2) for each in signs]
        middles = _apart(ideal, rooms, left, left + inside)
        for x, sign in zip(middles, signs, strict=True):
            ink = INK if sign.kind == "note" else GREY
            self.drawing.text(x, top + self.heights.note, sign.written, size=size, ink=ink)
            if (place := self.written.frets.get(sign.place)) is not None and sign.kind == "note":
                self._fret(top, x, place)
        if len(signs) > 1 and any(each.kind == "note" for each in signs):
            self._arc(top, middles[0], middles[-1])

    def _arc(self, top: float, left: float, right: float) -> None:
        """Join what shares a matra, as Bhatkhande's notation does."""
        y = top + self.heights.note + 0.32 * self.setting.size
        inset = min(3.0, 0.28 * self.setting.size)
        a, b, c = left - inset, right + inset, y + 3.2
        self.drawing.path(f"M{a:.2f} {y:.2f}Q{(a + b) / 2:.2f} {c + 1.2:.2f} {b:.2f} {y:.2f}", width=0.55)

    def _fret(self, top: float, x: float, place: Place) -> None:
        assert self.written.board is not None
        y = top + self.heights.tab + TAB_GAP * (len(self.written.board.courses) - place.string)
        written = _fret_text(place)
        wide = width_of(written, TAB_SIZE) + 1.6
        self.drawing.box(x - wide / 2, y - TAB_GAP / 2 + 0.4, wide, TAB_GAP - 0.8, fill="#ffffff")
        self.drawing.text(x, y + 0.36 * TAB_SIZE, written, size=TAB_SIZE)

    def _theka(self, top: float, matras: range) -> None:
        for group in _theka(self.written):
            if int(group[0].place // 1) in matras:
                left = LEFT + self.setting.matra * (int(group[0].place // 1) - matras.start)
                middle = left + self.setting.matra / 2
                ideal = [left + self.setting.matra * float(each.place % 1 + each.length / 2) for each in group]
                rooms = [_theka_room(each) for each in group]
                spread = ideal if sum(rooms) > self.setting.matra else _apart(
                    [middle + (x - middle) * min(1.0, 1.15 * sum(rooms) / self.setting.matra) for x in ideal],
                    rooms, left, left + self.setting.matra,
                )  # fmt: skip
                for x, sign in zip(spread, group, strict=True):
                    self.drawing.text(x, top + self.heights.theka, sign.written, size=SMALL, face="italic", ink=GREY)

    def _spans(self, top: float, matras: range, end: Fraction, closes: bool) -> None:
        first = self.first + matras.start
        for span in self.written.spans:
            begins, ends = self.written.start - 1 + span.begin, self.written.start - 1 + span.end
            if ends <= first or begins >= end or (begins >= self.first + matras.stop and not closes):
                continue
            left, right = self._x(matras, begins) + 1.5, self._x(matras, ends) - 1.5
            if closes and ends > self.first + matras.stop:
                right = self._x(matras, self.first + matras.stop) + CLOSING - 1.5
            y, width = top + self.heights.bracket + (8.0 if span.inner else 0.0), 0.5 if span.inner else 0.8
            self.drawing.line(left, y, right, y, stroke=ACCENT, width=width)
            if begins >= first:
                self.drawing.line(left, y, left, y + 3.5, stroke=ACCENT, width=width)
                at = min(left, self.drawing.width - width_of(span.label, 6.8, "italic") - 2)
                self.drawing.text(at, y - 2.2, span.label, size=6.8, anchor="start", face="italic", ink=ACCENT)
            if ends <= end:
                self.drawing.line(right, y, right, y + 3.5, stroke=ACCENT, width=width)

    def _closed(self, top: float, matras: range) -> None:
        """The sam that closes the row, with the note that comes on it."""
        x = self._x(matras, self.first + matras.stop) + CLOSING / 2
        note = next((s for s in self.written.signs if s.place == self.written.closing and s.kind == "note"), None)
        if note is not None:
            size = min(self.setting.size, (CLOSING - 4) / max(width_of(note.written, 1.0), 0.1))
            self.drawing.text(x, top + self.heights.note, note.written, size=size)
            if (place := self.written.frets.get(note.place)) is not None:
                self._fret(top, x, place)
        if self.written.landing is not None:
            self._marked(top, x, note is None)

    def _landing(self, top: float, left: float, matras: range) -> None:
        """Mark a landing within the row."""
        landing = self.written.landing
        note = next((s for s in self.written.signs if s.place == landing and s.kind == "note"), None)
        x = self._x(matras, note.place + note.length / 2) if note is not None else left + self.setting.matra / 2
        self._marked(top, x, note is None)

    def _marked(self, top: float, x: float, alone: bool) -> None:
        y = top + self.heights.note
        if alone:  # the landing stroke follows the last palla and is not written in it
            self.drawing.disc(x, y - 0.33 * self.setting.size, 3.0, fill=ACCENT)
        y += 0.62 * self.setting.size
        self.drawing.path(
            f"M{x - 3:.2f} {y + 4.6:.2f}L{x:.2f} {y:.2f}L{x + 3:.2f} {y + 4.6:.2f}Z", fill=ACCENT, stroke="none"
        )


def _apart(ideal: Sequence[float], rooms: Sequence[float], left: float, right: float) -> list[float]:
    """Move middles so far that each has its room between two edges."""
    middles: list[float] = []
    edge = left
    for x, room in zip(ideal, rooms, strict=True):
        middles.append(max(x, edge + room / 2))
        edge = middles[-1] + room / 2
    edge = right
    for at in range(len(middles) - 1, -1, -1):
        middles[at] = min(middles[at], edge - rooms[at] / 2)
        edge = middles[at] - rooms[at] / 2
    return middles
