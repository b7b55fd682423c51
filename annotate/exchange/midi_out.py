"""MIDI: the grid as a tempo map, with a click, and the notes of tihais and phrases where they were played.

Standard MIDI File 1.0 (MIDI Manufacturers Association), format 1: a track with tempo, metre and markers, then a click,
the lead's tihais, the lead's phrases, and bols. A matra is a quarter of :data:`~annotate.exchange.timeline.TICKS`
ticks. Texts are UTF-8. Written by mido.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import mido

from annotate.exchange.midi_keys import BEND_SEMITONES, MATRA_KEY, SAM_KEY, bol_keys, sa_key
from annotate.exchange.sounding import Sounding, of_phrase, of_tihai
from annotate.exchange.spans import spans_of
from annotate.exchange.timeline import TICKS, Timeline, timeline_of
from annotate.grid import RecordingGrid
from annotate.state import State
from annotate.verify import section_of
from theory.passage import Passage
from theory.swaras import semitones_of

DRUMS = 9
"""Channel 10, counted from 0."""

_OFF, _BEFORE, _ON = 0, 1, 2  # the order of what happens on one tick
_Event = tuple[int, int, mido.Message | mido.MetaMessage]


@dataclass(frozen=True)
class Written:
    """The content of a file, and what it could not hold."""

    content: bytes
    left_out: str


@dataclass(frozen=True)
class _Key:
    """A key pressed from one tick to another, and its lyric."""

    key: int
    start: int
    end: int
    velocity: int
    lyric: str = ""


def midi(state: State, grid: RecordingGrid) -> Written:
    """Return a recording's grid, tihais (not the rejected ones) and phrases as a MIDI file.

    Raises
    ------
    CannotExport
        A matra is longer than a tempo can tell.
    """
    line = timeline_of(grid)
    sa, bend = sa_key(state.recording.sa_hz)
    tihais: list[_Key] = []
    phrases: list[_Key] = []
    tabla: list[_Key] = []
    silent = 0
    for each in state.tihais:
        if each.status == "rejected":
            continue
        passage, notes = of_tihai(each, section_of(each, grid))
        silent += not notes
        (tabla if passage.system == "bols" else tihais).extend(_keys(line, passage, notes, sa))
    for phrase in state.phrases:
        passage, notes = of_phrase(phrase)
        (tabla if passage.system == "bols" else phrases).extend(_keys(line, passage, notes, sa))
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS, charset="utf-8")
    lead = state.recording.lead or "lead"
    file.tracks.append(_track(state.recording.title, _conductor(line, state, grid)))
    file.tracks.append(_track("click", _played(_clicks(line), DRUMS)))
    file.tracks.append(_track(f"{lead}: tihais", [*_tuned(bend, 0), *_played(tihais, 0)]))
    file.tracks.append(_track(f"{lead}: phrases", [*_tuned(bend, 1), *_played(phrases, 1)]))
    file.tracks.append(_track("tabla", _played(tabla, DRUMS)))
    out = io.BytesIO()
    file.save(file=out)
    return Written(out.getvalue(), _left_out(line, state, silent))


def _conductor(line: Timeline, state: State, grid: RecordingGrid) -> Iterator[_Event]:
    before = None
    for quarter, tempo_us in enumerate(line.tempi_us):
        if tempo_us != before:
            yield quarter * TICKS, _BEFORE, mido.MetaMessage("set_tempo", tempo=tempo_us)
        before = tempo_us
    for quarter, beats in line.metres:
        yield quarter * TICKS, _BEFORE, mido.MetaMessage("time_signature", numerator=beats, denominator=4)
    for span in spans_of(state, grid):
        yield line.tick_of(span.start_s), _ON, mido.MetaMessage("marker", text=span.label)
    for each in state.tihais:
        if each.status != "rejected":
            yield line.tick_of(each.landing_s), _ON, mido.MetaMessage("marker", text=f"landing {each.tihai}")


def _clicks(line: Timeline) -> Iterator[_Key]:
    for beat in line.beats:
        tick = beat.quarter * TICKS
        loud = 120 if beat.matra == 1 else 90 if beat.matra in beat.vibhag_starts else 60
        yield _Key(SAM_KEY if beat.matra == 1 else MATRA_KEY, tick, tick + TICKS // 8, loud)


def _keys(line: Timeline, passage: Passage, notes: list[Sounding], sa: int) -> Iterator[_Key]:
    """Yield the keys of notes; ``notes`` go through the passage once or several times."""
    sounds = bol_keys(passage) if passage.system == "bols" else []
    for number, note in enumerate(notes):
        velocity = 120 if note.lands else 90
        if passage.system != "bols":
            key = sa + semitones_of(note.symbol)
            yield _Key(key, line.tick_of(note.start_s), line.tick_of(note.end_s), velocity, note.symbol)
            continue
        length_s = note.end_s - note.start_s
        said = ""
        for bol, key, start, end in sounds[number % len(sounds)]:
            first, last = (line.tick_of(note.start_s + place * length_s) for place in (start, end))
            yield _Key(key, first, last, velocity, "" if said == f"{bol}{start}" else bol)
            said = f"{bol}{start}"


def _played(keys: Iterable[_Key], channel: int) -> Iterator[_Event]:
    """Yield presses and releases; a key that is pressed again while it is down is let go first."""
    ordered = sorted(keys, key=lambda each: (each.start, each.key))
    pressed_again: dict[int, int] = {}
    for each in reversed(ordered):
        end = min(max(each.end, each.start + 1), pressed_again.get(each.key, each.end + 1))
        if end <= each.start:
            continue  # the same key on the same tick is one note
        pressed_again[each.key] = each.start
        if each.lyric:
            yield each.start, _BEFORE, mido.MetaMessage("lyrics", text=each.lyric)
        note = {"note": each.key, "channel": channel}
        yield each.start, _ON, mido.Message("note_on", velocity=each.velocity, **note)
        yield end, _OFF, mido.Message("note_off", velocity=0, **note)


def _tuned(bend: int, channel: int) -> Iterator[_Event]:
    """Tune a channel to Sa: the reach of a bend (registered parameter 0), then the bend."""
    for control, value in ((101, 0), (100, 0), (6, BEND_SEMITONES), (38, 0), (101, 127), (100, 127)):
        yield 0, _OFF, mido.Message("control_change", control=control, value=value, channel=channel)
    yield 0, _OFF, mido.Message("pitchwheel", pitch=bend, channel=channel)


def _track(name: str, events: Iterable[_Event]) -> mido.MidiTrack:
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    here = 0
    for tick, _, message in sorted(events, key=lambda each: each[:2]):
        track.append(message.copy(time=tick - here))
        here = tick
    return track


def _left_out(line: Timeline, state: State, silent: int) -> str:
    longest_ms = max(line.tempi_us) / TICKS / 1000
    told = [
        f"times finer than a tick, a {TICKS}th of a matra, here up to {longest_ms:.2f} ms (the matras themselves to "
        "the microsecond)",
        "shrutis, glides and ornaments (swaras are equal semitones above Sa)",
        "of a bol more than what either drum does (its name is the lyric)",
        "of a tihai its dam, rule, target and status; sections' kinds but as a marker; who wrote a row down and when",
    ]
    if state.recording.sa_hz is None:
        told.append("the pitch of Sa, which is not known: middle C stands for it")
    if silent:
        told.append(f"the notes of {silent} tihais of which no palla, or only the interval, is written (markers stand)")
    return "; ".join(told)
