"""Which keys swaras and bols have in a MIDI file.

Swaras: equal semitones above the key nearest to the recording's Sa; how far Sa lies from that key is a pitch bend,
written once. Bols: each drum has a key for a stroke that rings and one for a dead stroke, on channel 10; a bol that
strikes both drums is two notes. The numbers are our own choice; so that any General MIDI player sounds something like
it, they are those of the hand drums in its percussion map (General MIDI Level 1; from memory).
"""

from __future__ import annotations

import math

from theory.bols import Bol, strokes
from theory.errors import UnknownName
from theory.passage import Passage

BASS_KEYS = {"rings": 64, "dead": 61}
"""The bayan (on the pakhawaj its left side)."""

TREBLE_KEYS = {"rings": 63, "dead": 62}
"""The dayan."""

UNKNOWN_KEY = 60
"""A bol that the lexicon does not have."""

SAM_KEY, MATRA_KEY = 76, 77
"""The click: at sam, and at every other matra."""

MIDDLE_C = 60
BEND_SEMITONES = 2
"""How far a whole pitch bend reaches; written into the file."""


def sa_key(sa_hz: float | None) -> tuple[int, int]:
    """Return the key of the middle Sa and the pitch bend that tunes it (-8192 to 8191); middle C where unknown."""
    if sa_hz is None:
        return MIDDLE_C, 0
    pitch = 69 + 12 * math.log2(sa_hz / 440)  # A4 = 440 Hz is key 69
    key = round(pitch)
    return key, round((pitch - key) / BEND_SEMITONES * 8192)


def bol_keys(passage: Passage) -> list[list[tuple[str, int, float, float]]]:
    """Return what each note of a passage in bols sounds like.

    Returns
    -------
    list, one entry a note
        Each a list of (bol, key, start, end); start and end from 0 to 1 within the note, since a word such as Gadi is
        two strokes.
    """
    try:
        struck = strokes(passage)
    except UnknownName:
        return [[(note.symbol, UNKNOWN_KEY, 0.0, 1.0)] for note in passage.notes]
    found: list[list[tuple[str, int, float, float]]] = []
    for note in passage.notes:
        inside = [each for each in struck if note.onset <= each.onset < note.end]
        found.append(
            [
                (
                    each.bol.name,
                    key,
                    float((each.onset - note.onset) / note.length),
                    float((each.onset + each.length - note.onset) / note.length),
                )
                for each in inside
                for key in _keys(each.bol)
            ]
        )
    return found


def _keys(bol: Bol) -> list[int]:
    keys = [table[side] for side, table in ((bol.bass, BASS_KEYS), (bol.treble, TREBLE_KEYS)) if side != "none"]
    return keys or [UNKNOWN_KEY]
