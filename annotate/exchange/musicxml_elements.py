"""Single elements of MusicXML, each complete in itself (see :mod:`annotate.exchange.musicxml_out`)."""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement

from annotate.exchange.staff_pitch import ACCIDENTALS, StaffPitch, in_key
from annotate.exchange.tab import Hand
from theory.bols import get_bol, split_bols
from theory.errors import UnknownName
from theory.fretboard import note_name


class Signs:
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


def add_pitch(note: Element, pitch: StaffPitch) -> None:
    """Give a note its pitch."""
    written = SubElement(note, "pitch")
    SubElement(written, "step").text = pitch.step
    if pitch.alter:
        SubElement(written, "alter").text = str(pitch.alter)
    SubElement(written, "octave").text = str(pitch.octave)


def is_dead(symbol: str) -> bool:
    """Tell whether nothing rings in a bol; one that the lexicon does not have is taken to ring."""
    try:
        return all(get_bol(bol).category == "damped" for bol in split_bols(symbol))
    except UnknownName:
        return False


def add_tab(attributes: Element, hand: Hand) -> None:
    """Make the second staff tab: clef, lines, and the tuning of each, the string written first at the bottom."""
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


def words_above(text: str) -> Element:
    """Return words that stand above the staff."""
    words = Element("words")
    words.text = plain(text)
    return _above(words)


def bracket_above(kind: str, number: int) -> Element:
    """Return one end ("start" or "stop") of a bracket above the staff; neighbours bear different numbers."""
    told = {"type": kind, "number": str(number % 2 + 1), "line-end": "down", "line-type": "solid"}
    return _above(Element("bracket", told))


def tempo_above(laya_mpm: float) -> Element:
    """Return a tempo in matras a minute: shown to a tenth, played to a thousandth."""
    metronome = Element("metronome")
    SubElement(metronome, "beat-unit").text = "quarter"
    SubElement(metronome, "per-minute").text = f"{laya_mpm:.1f}".removesuffix(".0")
    direction = _above(metronome)
    SubElement(direction, "sound", tempo=f"{laya_mpm:.3f}".rstrip("0").rstrip("."))
    return direction


def _above(kind: Element) -> Element:
    direction = Element("direction", placement="above")
    SubElement(direction, "direction-type").append(kind)
    return direction


def close(measure: Element, style: str) -> None:
    """Close the last bar, unless a repeat sign does."""
    if measure.find("barline[@location='right']") is None:
        SubElement(SubElement(measure, "barline", location="right"), "bar-style").text = style


def plain(text: str) -> str:
    """Leave out what XML cannot hold."""
    return "".join(sign if sign.isprintable() else " " for sign in text)
