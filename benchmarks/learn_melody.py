"""Learn the weights by which the melody is heard (``ingest/data/melody.json``).

``python -m benchmarks.learn_melody --concerts 11-24 --evenings 1-24 --cache FOLDER [--steps N]``

Material: rendered concerts and evenings with the exact fundamental, and `melody_tones`; two frames in five from the
last. For random frames, all pitches and silence are held against each other: the loss is the cross entropy of the true
one (shared between the two steps beside it). Each frame's loudness and tilt are varied. Adam, some minutes on one core;
the same seed gives the same weights on the same machine.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from benchmarks.concerts.render import parse_seeds, rendered
from benchmarks.concerts.score import fundamental
from benchmarks.concerts.truth import MELODY_HOP_S
from benchmarks.evenings.evening import hold
from benchmarks.evenings.plan import plan_evening
from benchmarks.evenings.render import rendered as rendered_evening
from benchmarks.melody_tones import tones
from ingest.decode import WORK_RATE_HZ, mono_blocks
from ingest.melody_scores import CONTEXT, FILE, PITCHES, PLACES, Network, write_network
from ingest.melody_spectra import CELLS, HOP_S, LOWEST_HZ, STEP_CENTS, Floats, pitch_maps

HIDDEN = (24, 8)
TONE_PIECES, FRAMES_OF_A_PIECE, PIECES_AT_ONCE, TONE_SHARE = 40, 20, 6, 0.4
LEARNING_RATE, MOMENTUM, SCALE_MEMORY = 4e-3, 0.9, 0.999
FIRST_BIAS = -3.0  # most pitches are not the melody


@dataclass(frozen=True)
class Piece:
    """What is read of a piece and what is true: arrays over all its frames."""

    long: NDArray[np.float16]
    short: NDArray[np.float16]
    drone: NDArray[np.float16]
    hz: NDArray[np.float64]


def piece(blocks: Iterable[Floats], hz: NDArray[np.float64], hop_s: float) -> Piece:
    """Follow a sound as ingest does as far as the scores; ``hz`` is the truth every ``hop_s``."""
    maps = list(pitch_maps(blocks))
    long, short = (np.concatenate([getattr(part, name) for part in maps]) for name in ("long", "short"))
    drone = np.concatenate([np.broadcast_to(part.drone, part.long.shape) for part in maps])
    at = np.minimum(np.rint(np.arange(len(long)) * HOP_S / hop_s).astype(int), len(hz) - 1)
    return Piece(long.astype(np.float16), short.astype(np.float16), drone.astype(np.float16), hz[at])


def material(concerts: Sequence[int], evenings: Sequence[int], cache: Path) -> tuple[list[Piece], list[Piece]]:
    """Pieces with players, and tones."""
    played = []
    for seed in concerts:
        path, truth = rendered(seed, cache)
        played.append(piece(mono_blocks(path, WORK_RATE_HZ), np.array(truth.melody_hz), MELODY_HOP_S))
    for seed in evenings:
        path, evening = rendered_evening(seed, cache)
        hz = fundamental(hold(plan_evening(seed)).plucks, evening.duration_s)
        played.append(piece(mono_blocks(path, WORK_RATE_HZ), hz, MELODY_HOP_S))
    made = []
    for seed in range(TONE_PIECES):
        sound, hz = tones(seed)
        made.append(piece([sound], hz, HOP_S))
    return played, made


def varied(rng: np.random.Generator) -> NDArray[np.float64]:
    """A gain by cell, as another recording of the same might have it: a little louder, tilted, coloured."""
    octaves = np.arange(CELLS) * STEP_CENTS / 1200 - 2
    tilt = rng.normal(0, 0.2) + rng.normal(0, 0.15) * octaves
    return np.exp(tilt + 0.15 * np.sin(rng.uniform(1, 4) * octaves))


def read_frames(source: Piece, frames: NDArray[np.int64], gain: NDArray[np.float64]) -> Floats:
    """What is read in some frames for all pitches, with a gain by cell; shape (places, frames, pitches)."""
    read = np.zeros((len(PLACES), len(frames), PITCHES), np.float32)
    for number, place in enumerate(PLACES):
        first, last = max(0, -place.cells), min(PITCHES, CELLS - place.cells)
        cells = slice(first + place.cells, last + place.cells)
        values = getattr(source, place.where)[frames + place.later, cells]
        read[number, :, first:last] = values * gain[cells]
    return read


def targets(hz: NDArray[np.float64]) -> Floats:
    """Shares of the pitches and, last, of silence; shape (frames, PITCHES + 1)."""
    out = np.zeros((len(hz), PITCHES + 1), np.float32)
    place = 1200 * np.log2(np.maximum(hz, 1.0) / LOWEST_HZ) / STEP_CENTS
    heard = (hz > 0) & (place >= 0) & (place < PITCHES - 1)
    lower, row = np.floor(place[heard]).astype(int), np.flatnonzero(heard)
    out[row, lower], out[row, lower + 1] = lower + 1 - place[heard], place[heard] - lower
    out[~heard, -1] = 1
    return out


def gradients(layers: list[Floats], read: Floats, wanted: Floats) -> tuple[float, list[Floats]]:
    """Loss and its gradients by weight and bias, layer after layer."""
    values = [read.reshape(len(read), -1)]
    for number in range(0, len(layers), 2):
        values.append(layers[number] @ values[-1] + layers[number + 1][:, None])
        if number + 2 < len(layers):
            values[-1] = np.maximum(values[-1], 0)
    frames = len(wanted)
    odds = np.concatenate([values[-1].reshape(frames, PITCHES), np.zeros((frames, 1), np.float32)], axis=1)
    share = np.exp(odds - odds.max(axis=1, keepdims=True))
    share /= share.sum(axis=1, keepdims=True)
    loss = float(-(wanted * np.log(share + 1e-9)).sum(axis=1).mean())
    back = ((share - wanted)[:, :-1] / frames).reshape(1, -1)
    out: list[Floats] = []
    for number in range(len(layers) - 2, -1, -2):
        before = values[number // 2]
        out = [back @ before.T, back.sum(axis=1), *out]
        if number:
            back = (layers[number].T @ back) * (before > 0)
    return loss, out


def learn(played: list[Piece], made: list[Piece], steps: int, seed: int = 0) -> Network:
    """Learn the weights."""
    rng = np.random.default_rng(seed)
    sizes = (len(PLACES), *HIDDEN, 1)
    layers: list[Floats] = []
    for size, after in pairwise(sizes):
        layers += [rng.normal(0, size**-0.5, (after, size)).astype(np.float32), np.zeros(after, np.float32)]
    layers[-1] += FIRST_BIAS
    mean, square = ([np.zeros_like(layer) for layer in layers] for _ in range(2))
    recent, began_s = 0.0, time.perf_counter()
    for step in range(1, steps + 1):
        read, wanted = [], []
        for _ in range(PIECES_AT_ONCE):
            pieces = made if rng.random() < TONE_SHARE else played
            source = pieces[int(rng.integers(len(pieces)))]
            frames = rng.integers(CONTEXT, len(source.hz) - CONTEXT, FRAMES_OF_A_PIECE)
            read.append(read_frames(source, frames, varied(rng)))
            wanted.append(targets(source.hz[frames]))
        loss, slopes = gradients(layers, np.concatenate(read, axis=1), np.concatenate(wanted))
        recent = loss if step == 1 else 0.99 * recent + 0.01 * loss
        rate = LEARNING_RATE * min(1.0, step / 100) * (0.03 + 0.97 * 0.5 * (1 + np.cos(np.pi * step / steps)))
        for number, slope in enumerate(slopes):
            mean[number] = MOMENTUM * mean[number] + (1 - MOMENTUM) * slope
            square[number] = SCALE_MEMORY * square[number] + (1 - SCALE_MEMORY) * slope**2
            moved = mean[number] / (1 - MOMENTUM**step)
            scale = np.sqrt(square[number] / (1 - SCALE_MEMORY**step)) + 1e-8
            layers[number] = (layers[number] - rate * moved / scale).astype(np.float32)
        if step % 500 == 0:
            print(f"step {step}: loss {recent:.3f}, {time.perf_counter() - began_s:.0f} s", flush=True)
    return Network(tuple(layers[0::2]), tuple(layers[1::2]))


def main(arguments: Sequence[str] | None = None) -> None:
    """Gather the material, learn, write."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.learn_melody", description=__doc__.split("\n")[0])
    parser.add_argument("--concerts", type=parse_seeds, default=parse_seeds("11-24"), help="seeds, such as 11-24")
    parser.add_argument("--evenings", type=parse_seeds, default=parse_seeds("1-24"), help="seeds, such as 1-24")
    parser.add_argument("--cache", type=Path, required=True, help="folder that keeps rendered concerts and evenings")
    parser.add_argument("--steps", type=int, default=10000)
    parser.add_argument("--into", type=Path, default=FILE, help="file to write (default: the one that ingest reads)")
    options = parser.parse_args(arguments)
    played, made = material(options.concerts, options.evenings, options.cache)
    print(f"{len(played)} pieces played, {len(made)} of tones", flush=True)
    learnt = learn(played, made, options.steps)
    note = f"learnt by benchmarks.learn_melody: concerts {options.concerts}, evenings {options.evenings}"
    write_network(options.into, learnt, f"{note}, {TONE_PIECES} pieces of tones, {options.steps} steps")


if __name__ == "__main__":
    main()
