"""What an address asks of a practice sound.

Conventions: the address holds every choice; what it leaves out, or says in a way that is not known, is the first of
:data:`CHOICES`. Layas are shares of the laya as played, in percent.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any
from urllib.parse import quote, urlencode

from annotate.practice.pieces import Piece
from annotate.practice.sounds.wishes import LAYAS, SoundWishes

CHOICES: Mapping[str, Mapping[str, str]] = {
    "from": {"recording": "As played", "notation": "From notation"},
    "speed": {"50": "50 %", "65": "65 %", "80": "80 %", "100": "100 %", "all": "All, slowest first"},
    "laya": {"100": "Laya as played", "50": "Half of it", "75": "Three quarters", "climb": "Climbing from half to all"},
    "what": {"avartans": "From sam to sam", "exactly": "Exactly it", "pallas": "Each palla alone"},
    "rounds": {"2": "2 rounds", "1": "1 round", "4": "4 rounds", "8": "8 rounds"},
    "under": {
        "usual": "Usual beats",
        "theka": "Theka",
        "lehra": "Lehra",
        "both": "Theka and lehra",
        "clicks": "Clicks alone",
        "nothing": "Nothing under it",
    },
    "as": {"opus": "Opus file", "mp3": "MP3 file", "flac": "FLAC file"},
}
HEADINGS = {
    "from": "Which sound",
    "speed": "Speed",
    "laya": "Laya",
    "what": "What of it",
    "rounds": "How often",
    "under": "Under it",
    "as": "Kind of file",
}
FROM_NOTATION = {"from": "notation"}
"""What is asked of a piece of which there is no sound."""

_USUAL_LAYA = 60
_CLIMB = (50, 60, 70, 80, 90, 100)
_UNDER: Mapping[str, Mapping[str, Any]] = {
    "usual": {},
    "theka": {"clicks": False, "theka": True},
    "lehra": {"theka": False, "lehra": True, "clicks": True},
    "both": {"clicks": False, "theka": True, "lehra": True},
    "clicks": {"clicks": True, "theka": False, "tanpura": False},
    "nothing": {"clicks": False, "theka": False, "tanpura": False},
}


def asked_of(wanted: Mapping[str, str]) -> dict[str, str]:
    """Return every choice of an address."""
    return {name: wanted[name] if wanted.get(name) in known else next(iter(known)) for name, known in CHOICES.items()}


def wishes_of(asked: Mapping[str, str], piece: Piece) -> SoundWishes:
    """Return what is wished for."""
    speeds = ("50", "65", "80", "100") if asked["speed"] == "all" else (asked["speed"],)
    played = piece.per_minute or _USUAL_LAYA
    shares = _CLIMB if asked["laya"] == "climb" else (int(asked["laya"]),)
    return SoundWishes(
        source="notation" if asked["from"] == "notation" else "recording",
        speeds=tuple(map(Fraction, speeds)),
        layas=tuple(min(max(Fraction(round(played * share / 100)), LAYAS[0]), LAYAS[1]) for share in shares),
        rounds=int(asked["rounds"]),
        exactly=asked["what"] == "exactly",
        pallas_alone=asked["what"] == "pallas" and piece.tihai is not None,
        **_UNDER[asked["under"]],
    )


def page_address(slug: str, key: str, asked: Mapping[str, str] | None = None, **changed: str) -> str:
    """Return where a piece's practice sound is chosen and heard."""
    return _address(f"/practice/sound/{quote(slug)}/{quote(key)}", asked, changed)


def sound_address(slug: str, key: str, asked: Mapping[str, str]) -> str:
    """Return where the sound itself is."""
    return _address(f"/practice-sound/{quote(slug)}/{quote(key)}.{asked['as']}", asked, {})


def _address(path: str, asked: Mapping[str, str] | None, changed: Mapping[str, str]) -> str:
    """The path with every choice that is not the first."""
    now = {**(asked or {}), **changed}
    said = {name: value for name, value in now.items() if value != next(iter(CHOICES[name]))}
    return f"{path}?{urlencode(said)}" if said else path
