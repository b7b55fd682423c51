"""MusicXML: a tihai, a phrase, a draft or a theka as a page of notation that any notation program opens.

MusicXML 4.0 (W3C Music Notation Community Group, Final Community Group Report, 2021), partwise. A matra is a quarter; a
bar is an avartan, its metre the vibhags (4+4+4+4), with a dashed line where a vibhag begins and the claps above. Swaras
stand on five lines, bols on one, dead strokes with a cross; the swara or bol is the lyric. With a fretboard a second
staff is tab. The elements are few and their order is fixed by the schema, so they are written here: a library that
writes MusicXML is larger than this whole program.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from annotate.exchange.page import Bar, Page, lay_out, metre
from annotate.exchange.printed_notes import TYPES, Printed, beams
from annotate.exchange.score import Repeats, Score
from annotate.exchange.staff_pitch import ACCIDENTALS, StaffPitch, fifths_of, in_key, spelt
from annotate.exchange.tab import Hand, line_of, places_of
from theory.bols import get_bol, split_bols
from theory.errors import UnknownName
from theory.fingering import Place
from theory.fretboard import note_name

LEFT_OUT = (
    "when it was played (the rhythm is as written, the tempo one mean laya); shrutis, glides and ornaments; how far Sa "
    "lies from the nearest semitone; octaves as the hand knows them (a swara is written where it sounds)"
)
"""What a page of notation does not hold."""

_LINE = StaffPitch("E", 0, 4)
"""Where a bol stands: on the line of a staff of one."""


@dataclass(frozen=True)
class _Writer:
    """What the writing of every bar needs."""

    page: Page
    divisions: int
    sa: int
    bols: bool
    beams: dict[Fraction, list[str]]
    places: Sequence[Place]
    hand: Hand | None


def musicxml(score: Score, part: str, *, sa: int = 60, hand: Hand | None = None, repeats: Repeats = "written") -> str:
    """Return a score as MusicXML.

    Parameters
    ----------
    score : Score
    part : str
        Who plays it.
    sa : int
        The key of the middle Sa: 60 is middle C. With ``hand`` its Sa counts.
    hand : Hand, optional
        The instrument, for a staff of tab.
    repeats : {"written", "signs"}
        A tihai written out in avartans, or its palla between repeat signs.

    Raises
    ------
    CannotExport
        It cannot be written with repeat signs, or has parts too small to be written in notes.
    theory.errors.BadFretting
        A swara lies nowhere on the strings.
    """
    page, stretches = lay_out(score, repeats)
    origins = [start for bar in page.bars for start in bar.group_starts]
    writer = _Writer(
        page,
        math.lcm(*(each.length.denominator for each in page.printed)),
        sa if hand is None else hand.sa,
        score.system == "bols",
        dict(zip((each.start for each in page.printed), beams(page.printed, origins), strict=True)),
        places_of(hand, stretches) if hand is not None else (),
        hand,
    )
    root = Element("score-partwise", version="4.0")
    SubElement(root, "movement-title").text = _plain(score.title)
    encoding = SubElement(SubElement(root, "identification"), "encoding")
    SubElement(encoding, "software").text = "Layakosh"
    listed = SubElement(SubElement(root, "part-list"), "score-part", id="P1")
    SubElement(listed, "part-name").text = _plain(part)
    written = SubElement(root, "part", id="P1")
    before: Bar | None = None
    for number, bar in enumerate(page.bars, start=1):
        measure = SubElement(written, "measure", number=str(number))
        measure.extend(_measure(writer, score, bar, before))
        before = bar
    _barline(written[-1], "light-heavy")
    indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _measure(writer: _Writer, score: Score, bar: Bar, before: Bar | None) -> Iterator[Element]:
    attributes = _attributes(writer, bar, before)
    if len(attributes):
        yield attributes
    if bar.repeat_begins:
        left = Element("barline", location="left")
        SubElement(left, "bar-style").text = "heavy-light"
        SubElement(left, "repeat", direction="forward")
        yield left
    if before is None and score.laya_mpm is not None:
        yield _tempo(score.laya_mpm)
    yield from _staff(writer, bar)
    if writer.hand is not None:
        backup = Element("backup")
        SubElement(backup, "duration").text = _ticks(writer, bar.end - bar.start)
        yield backup
        for each in writer.page.in_bar(bar):
            yield _note(writer, each, _Signs(0), staff=2)
    if bar.repeat_ends:
        right = Element("barline", location="right")
        SubElement(right, "bar-style").text = "light-heavy"
        SubElement(right, "repeat", direction="backward", times="2")
        yield right


def _staff(writer: _Writer, bar: Bar) -> Iterator[Element]:
    """Yield the notes of the upper (or only) staff, with what stands above them."""
    page, signs = writer.page, _Signs(0 if writer.bols else fifths_of(writer.sa))
    told: set[Fraction] = set()
    for each in page.in_bar(bar):
        if each.start in bar.group_starts[1:] and each.start not in told:
            middle = Element("barline", location="middle")
            SubElement(middle, "bar-style").text = "dashed"
            yield middle
        if each.start not in told:
            told.add(each.start)
            for words in page.words.get(each.start, ()):
                yield _direction(_worded(words))
            for number, bracket in enumerate(page.brackets):
                if bracket.start == each.start:
                    yield _direction(_worded(bracket.words))
                    yield _direction(_bracket("start", number))
        yield _note(writer, each, signs, staff=1)
        for number, bracket in enumerate(page.brackets):
            if bracket.end == each.start + each.length:
                yield _direction(_bracket("stop", number))


def _attributes(writer: _Writer, bar: Bar, before: Bar | None) -> Element:
    attributes = Element("attributes")
    if before is None:
        SubElement(attributes, "divisions").text = str(writer.divisions)
        if not writer.bols:
            SubElement(SubElement(attributes, "key"), "fifths").text = str(fifths_of(writer.sa))
    if before is None or before.groups != bar.groups:
        beats, kind = metre(bar.groups)
        time = SubElement(attributes, "time")
        SubElement(time, "beats").text = beats
        SubElement(time, "beat-type").text = str(kind)
    if before is not None:
        return attributes
    if writer.hand is not None:
        SubElement(attributes, "staves").text = "2"
    clef = SubElement(attributes, "clef", {"number": "1"} if writer.hand is not None else {})
    sign, line = ("percussion", "") if writer.bols else _clef(writer)
    SubElement(clef, "sign").text = sign
    if line:
        SubElement(clef, "line").text = line
    if writer.bols:
        SubElement(SubElement(attributes, "staff-details"), "staff-lines").text = "1"
    if writer.hand is not None:
        _tab_attributes(attributes, writer.hand)
    return attributes


def _clef(writer: _Writer) -> tuple[str, str]:
    """Treble, or bass where most of it lies below middle C."""
    pitches = [spelt(note.symbol, writer.sa) for note in writer.page.notes]
    low = sum(each.octave < 4 for each in pitches)
    return ("F", "4") if low * 2 > len(pitches) else ("G", "2")


def _tab_attributes(attributes: Element, hand: Hand) -> None:
    courses = hand.board.courses
    clef = SubElement(attributes, "clef", number="2")
    SubElement(clef, "sign").text = "TAB"
    SubElement(clef, "line").text = str(len(courses))
    details = SubElement(attributes, "staff-details", number="2")
    SubElement(details, "staff-lines").text = str(len(courses))
    for line, course in enumerate(courses, start=1):
        tuning = SubElement(details, "staff-tuning", line=str(line))
        name = note_name(course.pitch)
        SubElement(tuning, "tuning-step").text = name[0]
        if "#" in name:
            SubElement(tuning, "tuning-alter").text = "1"
        SubElement(tuning, "tuning-octave").text = name.lstrip("ABCDEFG#")
    if hand.board.capo:
        SubElement(details, "capo").text = str(hand.board.capo)


class _Signs:
    """The accidentals of one bar: which are in force on which place of the staff."""

    def __init__(self, fifths: int) -> None:
        self._fifths = fifths
        self._in_force: dict[tuple[str, int], int] = {}

    def sign(self, pitch: StaffPitch) -> str:
        """Return the accidental to print before a pitch; empty where none is needed."""
        place = (pitch.step, pitch.octave)
        if self._in_force.get(place, in_key(pitch.step, self._fifths)) == pitch.alter:
            return ""
        self._in_force[place] = pitch.alter
        return ACCIDENTALS[pitch.alter]


def _note(writer: _Writer, each: Printed, signs: _Signs, staff: int) -> Element:
    """Return one note or rest; the order of its elements is the schema's."""
    note = Element("note")
    symbol = None if each.note is None else writer.page.notes[each.note].symbol
    accidental = ""
    if symbol is None:
        SubElement(note, "rest")
    elif writer.bols:
        place = SubElement(note, "unpitched")
        SubElement(place, "display-step").text = _LINE.step
        SubElement(place, "display-octave").text = str(_LINE.octave)
    else:
        pitch = spelt(symbol, writer.sa)
        accidental = signs.sign(pitch) if staff == 1 else ""
        _pitch(note, pitch)
    SubElement(note, "duration").text = _ticks(writer, each.length)
    for tied, kind in ((each.tied_before, "stop"), (each.tied_after, "start")):
        if tied:
            SubElement(note, "tie", type=kind)
    SubElement(note, "voice").text = str(staff)
    SubElement(note, "type").text = TYPES[each.value]
    if each.dotted:
        SubElement(note, "dot")
    if accidental and not each.tied_before:
        SubElement(note, "accidental").text = accidental
    if each.tuplet is not None:
        ratio = SubElement(note, "time-modification")
        SubElement(ratio, "actual-notes").text = str(each.tuplet[0])
        SubElement(ratio, "normal-notes").text = str(each.tuplet[1])
    if staff == 2 and symbol is not None:
        SubElement(note, "stem").text = "none"
    if symbol is not None and writer.bols and _is_dead(symbol):
        SubElement(note, "notehead").text = "x"
    if writer.hand is not None:
        SubElement(note, "staff").text = str(staff)
    if staff == 1:
        for level, beam in enumerate(writer.beams[each.start], start=1):
            SubElement(note, "beam", number=str(level)).text = beam
    _notations(writer, note, each, staff)
    if staff == 1 and symbol is not None and not each.tied_before:
        lyric = SubElement(note, "lyric", number="1")
        SubElement(lyric, "syllabic").text = "single"
        SubElement(lyric, "text").text = symbol
    return note


def _notations(writer: _Writer, note: Element, each: Printed, staff: int) -> None:
    notations = Element("notations")
    for tied, kind in ((each.tied_before, "stop"), (each.tied_after, "start")):
        if tied:
            SubElement(notations, "tied", type=kind)
    for edge, kind in ((each.tuplet_starts, "start"), (each.tuplet_ends, "stop")):
        if edge:  # on the tab they are not shown, but without them its notes would not stand under those above
            shown = {"bracket": "yes"} if staff == 1 else {"bracket": "no", "show-number": "none"}
            SubElement(notations, "tuplet", {"type": kind, **shown})
    if each.note is not None and staff == 2 and writer.hand is not None:
        place = writer.places[each.note]
        technical = SubElement(notations, "technical")
        SubElement(technical, "string").text = str(line_of(writer.hand.board, place.string))
        SubElement(technical, "fret").text = str(place.fret)
        if place.bend:
            SubElement(SubElement(technical, "bend"), "bend-alter").text = str(place.bend)
    if each.note is not None and staff == 1 and each.start == writer.page.landing:
        SubElement(SubElement(notations, "articulations"), "accent")
    if len(notations):
        note.append(notations)


def _pitch(note: Element, pitch: StaffPitch) -> None:
    written = SubElement(note, "pitch")
    SubElement(written, "step").text = pitch.step
    if pitch.alter:
        SubElement(written, "alter").text = str(pitch.alter)
    SubElement(written, "octave").text = str(pitch.octave)


def _is_dead(symbol: str) -> bool:
    """Tell whether nothing rings in a bol; one that the lexicon does not have is taken to ring."""
    try:
        return all(get_bol(bol).category == "damped" for bol in split_bols(symbol))
    except UnknownName:
        return False


def _ticks(writer: _Writer, length: Fraction) -> str:
    return str(length * writer.divisions)


def _direction(kind: Element) -> Element:
    direction = Element("direction", placement="above")
    SubElement(direction, "direction-type").append(kind)
    return direction


def _worded(words: str) -> Element:
    element = Element("words")
    element.text = _plain(words)
    return element


def _bracket(kind: str, number: int) -> Element:
    """Return one end of a bracket; neighbours bear different numbers."""
    told = {"type": kind, "number": str(number % 2 + 1), "line-end": "down", "line-type": "solid"}
    return Element("bracket", told)


def _tempo(laya_mpm: float) -> Element:
    metronome = Element("metronome")
    SubElement(metronome, "beat-unit").text = "quarter"
    SubElement(metronome, "per-minute").text = f"{laya_mpm:.1f}".removesuffix(".0")
    direction = _direction(metronome)
    SubElement(direction, "sound", tempo=f"{laya_mpm:.3f}".rstrip("0").rstrip("."))
    return direction


def _barline(measure: Element, style: str) -> None:
    """Close the last bar, unless a repeat sign does."""
    if measure.find("barline[@location='right']") is None:
        SubElement(SubElement(measure, "barline", location="right"), "bar-style").text = style


def _plain(text: str) -> str:
    """Leave out what XML cannot hold."""
    return "".join(sign if sign.isprintable() else " " for sign in text)
