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

from annotate.exchange.musicxml_elements import (
    Signs,
    add_pitch,
    add_tab,
    bracket_above,
    close,
    is_dead,
    plain,
    tempo_above,
    words_above,
)
from annotate.exchange.page import Bar, Page, lay_out, metre
from annotate.exchange.printed_notes import TYPES, Printed, beams
from annotate.exchange.score import Repeats, Score
from annotate.exchange.staff_pitch import StaffPitch, fifths_of, spelt
from annotate.exchange.tab import Hand, line_of, places_of
from theory.fingering import Place

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


def musicxml(
    score: Score,
    part: str,
    *,
    sa: int = 60,
    hand: Hand | None = None,
    repeats: Repeats = "written",
    rights: str = "",
) -> str:
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
    rights : str
        Whose it is and what may be done with it.

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
    SubElement(root, "movement-title").text = plain(score.title)
    identification = SubElement(root, "identification")
    if rights:
        SubElement(identification, "rights").text = plain(rights)
    encoding = SubElement(identification, "encoding")
    SubElement(encoding, "software").text = "Layakosh"
    listed = SubElement(SubElement(root, "part-list"), "score-part", id="P1")
    SubElement(listed, "part-name").text = plain(part)
    written = SubElement(root, "part", id="P1")
    before: Bar | None = None
    for number, bar in enumerate(page.bars, start=1):
        measure = SubElement(written, "measure", number=str(number))
        measure.extend(_measure(writer, score, bar, before))
        before = bar
    close(written[-1], "light-heavy")
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
        yield tempo_above(score.laya_mpm)
    yield from _staff(writer, bar)
    if writer.hand is not None:
        backup = Element("backup")
        SubElement(backup, "duration").text = _ticks(writer, bar.end - bar.start)
        yield backup
        for each in writer.page.in_bar(bar):
            yield _note(writer, each, Signs(0), staff=2)
    if bar.repeat_ends:
        right = Element("barline", location="right")
        SubElement(right, "bar-style").text = "light-heavy"
        SubElement(right, "repeat", direction="backward", times="2")
        yield right


def _staff(writer: _Writer, bar: Bar) -> Iterator[Element]:
    """Yield the notes of the upper (or only) staff, with what stands above them."""
    page, signs = writer.page, Signs(0 if writer.bols else fifths_of(writer.sa))
    told: set[Fraction] = set()
    for each in page.in_bar(bar):
        if each.start in bar.group_starts[1:] and each.start not in told:
            middle = Element("barline", location="middle")
            SubElement(middle, "bar-style").text = "dashed"
            yield middle
        if each.start not in told:
            told.add(each.start)
            for words in page.words.get(each.start, ()):
                yield words_above(words)
            for number, bracket in enumerate(page.brackets):
                if bracket.start == each.start:
                    yield words_above(bracket.words)
                    yield bracket_above("start", number)
        yield _note(writer, each, signs, staff=1)
        for number, bracket in enumerate(page.brackets):
            if bracket.end == each.start + each.length:
                yield bracket_above("stop", number)


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
        add_tab(attributes, writer.hand)
    return attributes


def _clef(writer: _Writer) -> tuple[str, str]:
    """Treble, or bass where most of it lies below middle C."""
    pitches = [spelt(note.symbol, writer.sa) for note in writer.page.notes]
    low = sum(each.octave < 4 for each in pitches)
    return ("F", "4") if low * 2 > len(pitches) else ("G", "2")


def _note(writer: _Writer, each: Printed, signs: Signs, staff: int) -> Element:
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
        add_pitch(note, pitch)
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
    if symbol is not None and writer.bols and is_dead(symbol):
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


def _ticks(writer: _Writer, length: Fraction) -> str:
    return str(length * writer.divisions)
