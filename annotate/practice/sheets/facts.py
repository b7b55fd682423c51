"""What is said of a piece in a line: its raga, tala, laya and Sa."""

from __future__ import annotations

from annotate.exchange.midi_keys import sa_key
from annotate.labels import raga_name
from annotate.practice.pieces import Piece
from theory.fretboard import note_name


def piece_facts(piece: Piece) -> tuple[str, ...]:
    """Return the facts, each in a few words."""
    tala = piece.tala
    facts = [f"Raga {raga_name(piece.raga)}"] if piece.raga else []
    if tala is not None:
        facts += [f"{tala.name}, {tala.matras} matras", f"from {tala.name_of(piece.start)}"]
    if piece.per_minute is not None:
        facts.append(f"played at {piece.per_minute:.0f} matras a minute")
    if piece.sa_hz is not None:
        facts.append(f"Sa {note_name(sa_key(piece.sa_hz)[0])} ({piece.sa_hz:.1f} Hz)")
    return tuple(facts)
