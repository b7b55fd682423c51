"""How well each pitch explains what is heard in each frame, by weights learnt on the bench.

A pitch is judged by what lies at its harmonics, between them and below them (which tells octaves apart), in the spectra
of both windows, in the drone, and a little before and after: `PLACES`. A small network (two hidden layers), the same
for every pitch, turns these into one number, the log odds against silence. Its weights (``data/melody.json``) are
learnt by ``python -m benchmarks.learn_melody`` on rendered concerts and evenings (plucked strings over a drone, with
and without tabla) and on tones of every shape.

Conventions: pitch ``p`` stands for cell ``p`` of `melody_spectra`, ``LOWEST_HZ * 2 ** (p * STEP_CENTS / 1200)``.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from ingest.melody_spectra import CELLS, STEP_CENTS, Floats, PitchMaps, with_neighbours

FILE = Path(__file__).parent / "data" / "melody.json"
PITCHES = 265  # 65 Hz to 1370 Hz
FRAMES_AT_ONCE = 10  # what they need stays in the cache's reach


@dataclass(frozen=True)
class Place:
    """Where something is read for a pitch: in which map, at which multiple of the pitch, how many frames later."""

    where: str
    multiple: float
    later: int = 0

    @property
    def cells(self) -> int:
        """Cells above the pitch."""
        return round(1200 * float(np.log2(self.multiple)) / STEP_CENTS)


SEMITONE = 2 ** (1 / 12)
PLACES = (
    *(Place("long", n) for n in range(1, 13)),
    *(Place("long", n) for n in (1 / 2, 3 / 2, 5 / 2, 7 / 2, 1 / 3, 2 / 3, 3 / 4, 9 / 2)),
    *(Place("drone", n) for n in range(1, 9)),
    *(Place("short", n) for n in range(1, 9)),
    *(Place(where, shift) for where in ("long", "short") for shift in (SEMITONE, 1 / SEMITONE)),
    *(Place("long", n, later) for later in (-6, 6) for n in (1, 2, 3)),
    *(Place("short", n, later) for later in (-3, 3) for n in (1, 2, 3)),
)
CONTEXT = max(abs(place.later) for place in PLACES)
BELOW = max(-place.cells for place in PLACES)
ABOVE = max(place.cells for place in PLACES) + PITCHES - CELLS


@dataclass(frozen=True)
class Network:
    """Weights of the network: of each layer shape (outputs, inputs), and its bias."""

    weights: tuple[Floats, ...]
    biases: tuple[Floats, ...]

    def scores(self, read: Floats) -> Floats:
        """Log odds of every pitch against silence; shape (places, n) to (n,)."""
        values = read
        for number, (weight, bias) in enumerate(zip(self.weights, self.biases, strict=True)):
            values = weight @ values
            values += bias[:, None]
            if number + 1 < len(self.weights):
                np.maximum(values, 0, out=values)
        return values[0]


@cache
def network() -> Network:
    """The network as learnt."""
    return read_network(FILE)


def read_network(path: Path) -> Network:
    """Read what `write_network` wrote."""
    layers = json.loads(path.read_text(encoding="utf-8"))["layers"]
    return Network(
        tuple(np.array(layer["weights"], np.float32) for layer in layers),
        tuple(np.array(layer["bias"], np.float32) for layer in layers),
    )


def write_network(path: Path, learnt: Network, note: str) -> None:
    """Write a network as JSON, with a note of what it was learnt on; four digits are enough."""

    def short(values: Floats) -> object:
        return [short(row) for row in values] if values.ndim > 1 else [float(f"{value:.4g}") for value in values]

    layers = [
        {"weights": short(weight), "bias": short(bias)}
        for weight, bias in zip(learnt.weights, learnt.biases, strict=True)
    ]
    text = json.dumps({"note": note, "layers": layers}).replace("], [", "],\n [")
    path.write_text(text + "\n", encoding="utf-8")


def pitch_scores(maps: Iterable[PitchMaps]) -> Iterator[tuple[PitchMaps, Floats]]:
    """Score every pitch in every frame: blocks of maps, each with scores of shape (frames, PITCHES)."""
    learnt = network()
    for padded, here in readable(maps):
        scores = np.empty((len(here.long), PITCHES), np.float32)
        for first in range(0, len(scores), FRAMES_AT_ONCE):
            part = scores[first : first + FRAMES_AT_ONCE]
            read = np.empty((len(PLACES), *part.shape), np.float32)
            for number, place in enumerate(PLACES):
                read[number] = at_place(padded, place, slice(CONTEXT + first, CONTEXT + first + len(part)))
            part[:] = learnt.scores(read.reshape(len(PLACES), -1)).reshape(part.shape)
        yield here, scores


def readable(maps: Iterable[PitchMaps]) -> Iterator[tuple[PitchMaps, PitchMaps]]:
    """Each block of maps with room on all sides, `CONTEXT` frames and `BELOW` and `ABOVE` cells; and as it was."""
    room = (BELOW, max(0, ABOVE))
    for before, here, after in with_neighbours(maps):
        long, short = (
            np.pad(_between([None if part is None else getattr(part, name) for part in (before, here, after)]),
                   ((0, 0), room))
            for name in ("long", "short")
        )  # fmt: skip
        yield PitchMaps(long, short, np.pad(here.drone, room), here.loud), here


def _between(three: Sequence[Floats | None]) -> Floats:
    """A block with `CONTEXT` frames of its neighbours; at the recording's ends its first or last frame instead."""
    before, here, after = three
    assert here is not None
    ahead = here[:1] if before is None else before[-CONTEXT:]
    behind = here[-1:] if after is None else after[:CONTEXT]
    ahead = np.pad(ahead, ((CONTEXT - len(ahead), 0), (0, 0)), mode="edge")
    behind = np.pad(behind, ((0, CONTEXT - len(behind)), (0, 0)), mode="edge")
    return np.concatenate([ahead, here, behind])


def at_place(padded: PitchMaps, place: Place, frames: slice) -> Floats:
    """What is read at a place for every pitch in some frames of a block with room on all sides."""
    first = BELOW + place.cells
    cells = slice(first, first + PITCHES)
    if place.where == "drone":
        return padded.drone[cells]
    values: Floats = getattr(padded, place.where)
    return values[frames.start + place.later : frames.stop + place.later, cells]
