"""MIDI: the grid as a tempo map, with a click, and the notes of tihais and phrases where they were played.

Standard MIDI File 1.0 (MIDI Manufacturers Association), format 1: a track with tempo, metre and markers, then a click,
the lead's tihais, the lead's phrases, and bols. A matra is a quarter of :data:`~annotate.exchange.timeline.TICKS`
ticks. Texts are UTF-8. Written by mido.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass

import mido

from annotate.exchange.midi_keys import bol_keys, sa_key
from annotate.exchange.midi_tracks import BEFORE, DRUMS, ON, Event, Key, click, played, track, tuned
from annotate.exchange.sounding import Sounding, of_phrase, of_tihai
from annotate.exchange.spans import spans_of
from annotate.exchange.timeline import TICKS, Timeline, timeline_of
from annotate.grid import RecordingGrid
from annotate.state import State
from annotate.verify import section_of
from theory.passage import Passage
from theory.swaras import semitones_of


@dataclass(frozen=True)
class Written:
    """The content of a file, and what it could not hold."""

    content: bytes
    left_out: str


def midi(state: State, grid: RecordingGrid) -> Written:
    """Return a recording's grid, tihais (not the rejected ones) and phrases as a MIDI file.

    Raises
    ------
    CannotExport
        A matra is longer than a tempo can tell.
    """
    line = timeline_of(grid)
    sa, bend = sa_key(state.recording.sa_hz)
    tihais: list[Key] = []
    phrases: list[Key] = []
    tabla: list[Key] = []
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
    file.tracks.append(track(state.recording.title, _conductor(line, state, grid)))
    file.tracks.append(track("click", played(_clicks(line), DRUMS)))
    file.tracks.append(track(f"{lead}: tihais", [*tuned(bend, 0), *played(tihais, 0)]))
    file.tracks.append(track(f"{lead}: phrases", [*tuned(bend, 1), *played(phrases, 1)]))
    file.tracks.append(track("tabla", played(tabla, DRUMS)))
    out = io.BytesIO()
    file.save(file=out)
    return Written(out.getvalue(), _left_out(line, state, silent))


def _conductor(line: Timeline, state: State, grid: RecordingGrid) -> Iterator[Event]:
    before = None
    for quarter, tempo_us in enumerate(line.tempi_us):
        if tempo_us != before:
            yield quarter * TICKS, BEFORE, mido.MetaMessage("set_tempo", tempo=tempo_us)
        before = tempo_us
    for quarter, beats in line.metres:
        yield quarter * TICKS, BEFORE, mido.MetaMessage("time_signature", numerator=beats, denominator=4)
    for span in spans_of(state, grid):
        yield line.tick_of(span.start_s), ON, mido.MetaMessage("marker", text=span.label)
    for each in state.tihais:
        if each.status != "rejected":
            yield line.tick_of(each.landing_s), ON, mido.MetaMessage("marker", text=f"landing {each.tihai}")


def _clicks(line: Timeline) -> Iterator[Key]:
    for beat in line.beats:
        yield click(beat.quarter * TICKS, beat.matra, beat.vibhag_starts)


def _keys(line: Timeline, passage: Passage, notes: list[Sounding], sa: int) -> Iterator[Key]:
    """Yield the keys of notes; ``notes`` go through the passage once or several times."""
    sounds = bol_keys(passage) if passage.system == "bols" else []
    for number, note in enumerate(notes):
        velocity = 120 if note.lands else 90
        if passage.system != "bols":
            key = sa + semitones_of(note.symbol)
            yield Key(key, line.tick_of(note.start_s), line.tick_of(note.end_s), velocity, note.symbol)
            continue
        length_s = note.end_s - note.start_s
        said = ""
        for bol, key, start, end in sounds[number % len(sounds)]:
            first, last = (line.tick_of(note.start_s + place * length_s) for place in (start, end))
            yield Key(key, first, last, velocity, "" if said == f"{bol}{start}" else bol)
            said = f"{bol}{start}"


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
