"""A score as MIDI: its notes as written, at one laya, with a click; the counterpart in sound of its page in MusicXML.

Standard MIDI File 1.0 (MIDI Manufacturers Association), format 1: a track with tempo, metre and markers, then a click,
then the notes. A matra is a quarter. As on the page, the file begins with the avartan in which the score begins, so
that bars are avartans. Keys and channels are those of :mod:`annotate.exchange.midi_keys`.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from fractions import Fraction

import mido

from annotate.exchange.midi_keys import bol_keys
from annotate.exchange.midi_tracks import BEFORE, DRUMS, OFF, ON, Event, Key, click, played, track, tuned
from annotate.exchange.score import Score, Stretch
from annotate.exchange.timeline import LONGEST_US, TICKS
from theory.swaras import semitones_of

USUAL_MPM = 60.0
"""Matras a minute where a score has no laya."""

LEFT_OUT = (
    f"shrutis, glides and ornaments (swaras are equal semitones above Sa); times finer than a {TICKS}th of a matra; "
    "of a bol more than what either drum does (its name is the lyric)"
)
"""What such a file does not hold."""


def score_midi(score: Score, part: str, *, sa: int = 60, bend: int = 0, rights: str = "") -> bytes:
    """Return a score as a MIDI file.

    Parameters
    ----------
    score : Score
    part : str
        Who plays it: the name of the track.
    sa : int
        The key of the middle Sa.
    bend : int
        How the melody is tuned to it, -8192 to 8191; see :func:`annotate.exchange.midi_keys.sa_key`.
    rights : str
        Whose it is and what may be done with it.
    """
    start = score.start - 1 if score.tala is not None else Fraction(0)
    drums = score.system == "bols"
    keys, place = list[Key](), start
    for each in score.stretches:
        keys += _keys(each, place, sa)
        place += each.passage.length
    tuning = () if drums else tuned(bend, 0)
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS, charset="utf-8")
    file.tracks.append(track(score.title, _conductor(score, start, rights)))
    file.tracks.append(track("click", played(_clicks(score, place), DRUMS)))
    file.tracks.append(track(part, [*tuning, *played(keys, DRUMS if drums else 0)]))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def _tick(place: Fraction) -> int:
    """Return the tick nearest to a place in matras."""
    return round(place * TICKS)


def _conductor(score: Score, start: Fraction, rights: str) -> Iterator[Event]:
    if rights:
        yield 0, OFF, mido.MetaMessage("copyright", text=rights)
    tempo_us = min(round(60e6 / (score.laya_mpm or USUAL_MPM)), LONGEST_US)
    yield 0, BEFORE, mido.MetaMessage("set_tempo", tempo=tempo_us)
    beats = score.tala.matras if score.tala is not None else max(1, math.ceil(score.length))
    yield 0, BEFORE, mido.MetaMessage("time_signature", numerator=min(beats, 255), denominator=4)
    place = start
    for each in score.stretches:
        if each.label:
            yield _tick(place), ON, mido.MetaMessage("marker", text=each.label)
        place += each.passage.length
    if score.lands is not None:
        yield _tick(start + score.lands), ON, mido.MetaMessage("marker", text="landing")


def _clicks(score: Score, end: Fraction) -> Iterator[Key]:
    """Yield a click on every matra up to the end of the last avartan; outside a tala they are all alike."""
    if score.tala is None:
        for matra in range(math.ceil(end)):
            yield click(matra * TICKS, 2, ())
        return
    matras = score.tala.matras
    for matra in range(max(1, math.ceil(end / matras)) * matras):
        yield click(matra * TICKS, matra % matras + 1, score.tala.vibhag_starts)


def _keys(stretch: Stretch, place: Fraction, sa: int) -> Iterator[Key]:
    passage = stretch.passage
    if passage.system != "bols":
        for note in passage.notes:
            begin, end = _tick(place + note.onset), _tick(place + note.end)
            yield Key(sa + semitones_of(note.symbol), begin, end, 90, note.symbol)
        return
    for note, sounds in zip(passage.notes, bol_keys(passage), strict=True):
        said = ""
        for bol, key, first, last in sounds:
            begin, finish = (
                _tick(place + note.onset + note.length * Fraction(share).limit_denominator(TICKS))
                for share in (first, last)
            )
            yield Key(key, begin, finish, 90, "" if said == f"{bol}{first}" else bol)
            said = f"{bol}{first}"
