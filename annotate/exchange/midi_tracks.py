"""What tracks of a MIDI file are made of: keys pressed and let go, a click, the tuning of a channel.

Conventions: places are ticks from the beginning of the file, of which :data:`~annotate.exchange.timeline.TICKS` make a
quarter; what happens on one tick comes in the order let go, texts and tempo, press.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import mido

from annotate.exchange.midi_keys import BEND_SEMITONES, MATRA_KEY, SAM_KEY
from annotate.exchange.timeline import TICKS

DRUMS = 9
"""Channel 10, counted from 0."""

OFF, BEFORE, ON = 0, 1, 2
"""The order of what happens on one tick."""

Event = tuple[int, int, mido.Message | mido.MetaMessage]
"""A tick, the order within it, and what happens."""


@dataclass(frozen=True)
class Key:
    """A key pressed from one tick to another, and its lyric."""

    key: int
    start: int
    end: int
    velocity: int
    lyric: str = ""


def click(tick: int, matra: int, vibhag_starts: tuple[int, ...]) -> Key:
    """Return the click of a matra: loudest on sam, louder where a vibhag begins."""
    loud = 120 if matra == 1 else 90 if matra in vibhag_starts else 60
    return Key(SAM_KEY if matra == 1 else MATRA_KEY, tick, tick + TICKS // 8, loud)


def played(keys: Iterable[Key], channel: int) -> Iterator[Event]:
    """Yield presses and releases; a key that is pressed again while it is down is let go first."""
    ordered = sorted(keys, key=lambda each: (each.start, each.key))
    pressed_again: dict[int, int] = {}
    for each in reversed(ordered):
        end = min(max(each.end, each.start + 1), pressed_again.get(each.key, each.end + 1))
        if end <= each.start:
            continue  # the same key on the same tick is one note
        pressed_again[each.key] = each.start
        if each.lyric:
            yield each.start, BEFORE, mido.MetaMessage("lyrics", text=each.lyric)
        note = {"note": each.key, "channel": channel}
        yield each.start, ON, mido.Message("note_on", velocity=each.velocity, **note)
        yield end, OFF, mido.Message("note_off", velocity=0, **note)


def tuned(bend: int, channel: int) -> Iterator[Event]:
    """Tune a channel to Sa: the reach of a bend (registered parameter 0), then the bend."""
    for control, value in ((101, 0), (100, 0), (6, BEND_SEMITONES), (38, 0), (101, 127), (100, 127)):
        yield 0, OFF, mido.Message("control_change", control=control, value=value, channel=channel)
    yield 0, OFF, mido.Message("pitchwheel", pitch=bend, channel=channel)


def track(name: str, events: Iterable[Event]) -> mido.MidiTrack:
    """Return a track of that name with events in the order of their ticks."""
    written = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    here = 0
    for tick, _, message in sorted(events, key=lambda each: each[:2]):
        written.append(message.copy(time=tick - here))
        here = tick
    return written
