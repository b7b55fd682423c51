"""The tags of a practice sound: what it is, whose performance, and what may be done with it."""

from __future__ import annotations

from annotate.practice.pieces import Piece
from theory.errors import UnknownName
from theory.ragas import get_raga


def tags_of(piece: Piece, how: str, licence: str) -> dict[str, str]:
    """Return the tags; only what is known.

    Parameters
    ----------
    piece : Piece
    how : str
        What was made of it: "from the recording at 50 and 100 %".
    licence : str
    """
    recording = piece.recording
    played_by = ", ".join(f"{name} ({plays})" if plays else name for plays, name in recording.musicians)
    performed = ", ".join(str(each) for each in (recording.venue, recording.performed_on) if each)
    comment = [
        f"Raga {_raga(piece.raga)}" if piece.raga else "",
        f"tala {piece.tala.name}" if piece.tala else "",
        f"as played {piece.per_minute:.0f} matras a minute" if piece.per_minute else "",
        how,
        f"Performance: {recording.title}{f' ({performed})' if performed else ''}",
        f"Licence: {licence}" if licence else "",
    ]
    return {
        "title": f"{piece.name}, {how}",
        "artist": played_by or recording.lead,
        "album": recording.title,
        "date": str(recording.performed_on or ""),
        "genre": "Hindustani",
        "comment": "; ".join(each for each in comment if each),
        "copyright": licence,
    }


def _raga(name: str) -> str:
    try:
        return get_raga(name).name
    except UnknownName:
        return name
