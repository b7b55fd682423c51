"""Where a phrase of swaras lies on a fretboard: on one string, or spread over the strings by least movement.

Conventions: semitones of a swara are counted from Sa, and Sa may lie anywhere: it is given as a pitch, most easily as
that of a string and a fret. The fretting hand has a *position*: the lowest fret it covers. Without moving it reaches
``stretch`` frets from there, and an open string always. What is least is the number of frets the hand moves in all;
then the semitones bent, then the changes of string, then the frets themselves (lower first).

How: the phrase is gone through once, and for every place and position in which its last swara may be played the best
way to get there is kept (dynamic programming). The work grows with the length of the phrase, not with the choices.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from theory.errors import BadFretting
from theory.fretboard import Fretboard, note_name
from theory.passage import Passage
from theory.swaras import semitones_of

DEFAULT_STRETCH = 4


@dataclass(frozen=True, slots=True)
class Place:
    """Where one swara is played.

    Attributes
    ----------
    swara : str
        As written.
    semitones : int
        How far it lies above Sa.
    string : int
        The string, from 1 in the order of the tuning.
    fret : int
        The fret, from the nut; 0, or the capo's, is the open string.
    bend : int
        By how many semitones the string is bent up from that fret.
    """

    swara: str
    semitones: int
    string: int
    fret: int
    bend: int = 0

    def to_json(self) -> dict[str, Any]:
        """Return it as a row for JSON."""
        return {
            "swara": self.swara,
            "semitones": self.semitones,
            "string": self.string,
            "fret": self.fret,
            "bend": self.bend,
        }


@dataclass(frozen=True, slots=True)
class Fingering:
    """A phrase on the fretboard: the place of every swara in order, and how many frets the hand moves in all."""

    places: tuple[Place, ...]
    movement: int


@dataclass(frozen=True, slots=True)
class _State:
    place: Place
    position: int | None  # the lowest fret under the hand; None before anything is fretted


@dataclass(frozen=True, slots=True)
class _Way:
    cost: tuple[int, ...]  # frets moved, semitones bent, changes of string, frets
    before: _State | None


def swaras_of(passage: Passage) -> tuple[str, ...]:
    """Return the swaras of a passage in order.

    Raises
    ------
    BadFretting
        When it holds bols, or nothing that sounds.
    """
    if passage.system != "sargam":
        raise BadFretting("Expected swaras to lay on the frets (S r R g G m M P d D n N), but bols or silence came.")
    return passage.symbols


def on_one_string(board: Fretboard, sa: int, swaras: Iterable[str], string: int, bend: int = 0) -> tuple[Place, ...]:
    """Lay a phrase on one string.

    Parameters
    ----------
    board : Fretboard
        The instrument.
    sa : int
        The pitch of the middle Sa, in semitones.
    swaras : iterable of str
        As written: "S'", ".n", "G".
    string : int
        The string, from 1; a drone may be named too.
    bend : int, optional
        By how many semitones a swara above the last fret may be bent up from it.

    Returns
    -------
    tuple of Place
        One for each swara.

    Raises
    ------
    BadFretting
        When a swara is not on the string; says where it would be and what to do.
    """
    board.require_string(string)
    return tuple(_only(board, sa, swara, string, bend) for swara in swaras)


def spread(
    board: Fretboard, sa: int, swaras: Sequence[str], *, stretch: int = DEFAULT_STRETCH, bend: int = 0
) -> Fingering:
    """Lay a phrase over the strings so that the hand moves least.

    Parameters
    ----------
    board, sa, swaras, bend
        As for :func:`on_one_string`; drones are left out.
    stretch : int, optional
        How many frets the hand reaches beyond its lowest without moving: with 4, frets 5 to 9 from position 5.

    Returns
    -------
    Fingering
        The places, and how far the hand moves.

    Raises
    ------
    BadFretting
        When a swara is nowhere on the strings, or the stretch is negative.
    """
    if stretch < 0:
        raise BadFretting(f"A stretch of {stretch} frets cannot be: give 0 or more, usually 3 to 5.")
    steps: list[dict[_State, _Way]] = []
    for swara in swaras:
        here: dict[_State, _Way] = {}
        for place in _anywhere(board, sa, swara, bend):
            for state, way in _ways(board, place, stretch, steps[-1] if steps else None):
                if state not in here or way.cost < here[state].cost:
                    here[state] = way
        steps.append(here)
    return _back(steps)


def _back(steps: list[dict[_State, _Way]]) -> Fingering:
    """Follow the best way from its end to its beginning."""
    if not steps:
        return Fingering((), 0)
    state: _State | None = min(steps[-1], key=lambda each: steps[-1][each].cost)
    movement = min(way.cost for way in steps[-1].values())[0]
    places = []
    for step in reversed(steps):
        assert state is not None
        places.append(state.place)
        state = step[state].before
    return Fingering(tuple(reversed(places)), movement)


def _ways(
    board: Fretboard, place: Place, stretch: int, before: dict[_State, _Way] | None
) -> Iterator[tuple[_State, _Way]]:
    """Yield every position in which a place can be played, with every way to come there."""
    is_open = place.fret == board.capo
    positions = range(max(board.capo + 1, place.fret - stretch), place.fret + 1)
    if before is None:
        for position in (None,) if is_open else positions:
            yield _State(place, position), _Way((0, place.bend, 0, place.fret), None)
        return
    for state, way in before.items():
        for position in (state.position,) if is_open else positions:
            moved = 0 if state.position is None or position is None else abs(position - state.position)
            step = (moved, place.bend, int(place.string != state.place.string), place.fret)
            cost = tuple(so_far + more for so_far, more in zip(way.cost, step, strict=True))
            yield _State(place, position), _Way(cost, state)


def _anywhere(board: Fretboard, sa: int, swara: str, bend: int) -> list[Place]:
    """Return every place of a swara on the strings that are played; bent ones only where there is no other."""
    places = [place for string in board.playable if (place := _on_string(board, sa, swara, string, bend)) is not None]
    if not places:
        pitch = sa + semitones_of(swara)
        raise BadFretting(
            f"{swara} ({note_name(pitch)}) lies on none of the strings: choose another octave for Sa, or allow a bend."
        )
    straight = [place for place in places if not place.bend]
    return straight or places


def _on_string(board: Fretboard, sa: int, swara: str, string: int, bend: int) -> Place | None:
    semitones = semitones_of(swara)
    fret = board.fret(string, sa + semitones)
    if not board.capo <= fret <= board.frets + bend:
        return None
    beyond = max(0, fret - board.frets)
    return Place(swara, semitones, string, fret - beyond, beyond)


def _only(board: Fretboard, sa: int, swara: str, string: int, bend: int) -> Place:
    """Return the place of a swara on one string, or say why it has none."""
    place = _on_string(board, sa, swara, string, bend)
    if place is not None:
        return place
    fret = board.fret(string, sa + semitones_of(swara))
    if fret < board.capo:
        lowest = f"the capo on fret {board.capo}" if board.capo else "the open string"
        below = f"{_semitones(board.capo - fret)} below {lowest} of string {string}"
        raise BadFretting(f"{swara} lies {below}: put Sa higher, or take a lower string.")
    raise BadFretting(
        f"{swara} would lie on fret {fret} of string {string}, which has {board.frets}: "
        f"put Sa lower, or allow a bend of {_semitones(fret - board.frets)}."
    )


def _semitones(count: int) -> str:
    return f"{count} semitone{'s' if count != 1 else ''}"
