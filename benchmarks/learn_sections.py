"""Learn the weights that tell the kinds of sections from rendered evenings and concerts, and write them.

``python -m benchmarks.learn_sections --cache FOLDER [--evenings 1-32] [--concerts 1-6,11-22] [--into FILE]``

Logistic regression by scikit-learn, which librosa brings along; strength of the regularisation by cross-validation over
evenings (0.02 and 0.05 do about as well, 0.005 worse). The weights go into ``ingest/data/sections.json``; learn again
when the features or the stroke chances change. Judge with ``python -m benchmarks.sections`` on other seeds.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.concerts.render import parse_seeds
from benchmarks.concerts.render import rendered as rendered_concert
from benchmarks.concerts.truth import Truth
from benchmarks.evenings.evening import EveningTruth, SectionHeld
from benchmarks.evenings.render import rendered as rendered_evening
from ingest.evidence import Evidence
from ingest.kind_names import GATS, gat_kind
from ingest.measure import measure
from ingest.pulse_change import EDGE_S, pulse_change_features
from ingest.section_features import SPANS_S, Features, section_features
from ingest.section_kinds import WITH_TABLA
from ingest.section_weights import FILE, of_stretch, standardised
from ingest.tabla_edges import heard_strokes
from ingest.texture import TEXTURE_BANDS

KINDS = ("alap", "jor", "jhala", WITH_TABLA, "talk", "tuning", "applause")
PLAYED = (*GATS, "tabla solo")
STRENGTH, PLAYED_STRENGTH, CHANGE_STRENGTH = 0.02, 0.03, 0.1
PIECES, PIECE_STEPS = 6, (40, 100)  # random pieces of every gat, in half seconds
PIECE_EDGE_S = 4.0
COPIES = 3  # of every recording, each through another equaliser
TILT, BEND, UNEVEN = 0.4, 0.2, 0.15  # standard deviations, natural logarithm of loudness: 0.2 is a factor of 3 in power
AT_CHANGE_S, NEAR_CHANGE_S = 1.0, 6.0
DIGITS = 4


@dataclass(frozen=True)
class Lesson:
    """A recording with its sections."""

    evidence: Evidence
    features: Features
    sections: tuple[SectionHeld, ...]


def lesson_of(evidence: Evidence, truth: EveningTruth | Truth) -> Lesson:
    """What can be learnt from a recording; a concert's gats are named by their mean laya."""
    sections = truth.sections if isinstance(truth, EveningTruth) else tuple(_as_held(truth))
    return Lesson(evidence, section_features(evidence), sections)


def _as_held(truth: Truth) -> Iterable[SectionHeld]:
    strokes = np.array(truth.stroke_s)
    for section in truth.sections:
        if not section.tala:
            yield SectionHeld(section.kind, section.start_s, section.end_s)
            continue
        laya_mpm = 60 * (len(section.matra_s) - 1) / (section.matra_s[-1] - section.matra_s[0])
        kind = section.kind if section.kind == "tabla solo" else gat_kind(laya_mpm)
        own = strokes[(strokes >= section.start_s) & (strokes <= section.end_s)]
        tabla_s = (float(own[0]), float(own[-1]))
        yield SectionHeld(kind, section.start_s, section.end_s, section.tala, laya_mpm, tabla_s)


def learn(lessons: Sequence[Lesson]) -> dict[str, Any]:
    """All weights, as `ingest.section_weights` reads them."""
    copies = [copy for number, lesson in enumerate(lessons) for copy in (lesson, *_equalised(lesson, number))]
    rows, labels = zip(*(pair for copy in copies for pair in _moments(copy)), strict=True)
    pieces, names = zip(*(pair for n, copy in enumerate(copies) for pair in _pieces(copy, n)), strict=True)
    changes = [_changes(lesson) for lesson in lessons]
    return {
        "features": lessons[0].features.names,
        "kinds": _fitted(np.concatenate(rows), np.concatenate(labels), KINDS, STRENGTH),
        "with_tabla": _fitted(np.stack(pieces), np.array(names), PLAYED, PLAYED_STRENGTH, "balanced"),
        "pulse_change": _change_weights(
            np.concatenate([rows for rows, _ in changes]), np.concatenate([labels for _, labels in changes])
        ),
    }


def _equalised(lesson: Lesson, seed: int) -> Iterable[Lesson]:
    """The same through other microphones, rooms and equalisers: the loudness of the bands raised and lowered.

    Without this the weights lean on the colour that all rendered recordings share.
    """
    rng = np.random.default_rng((seed, 70))
    names = lesson.features.names
    for _ in range(COPIES):
        across = np.linspace(-1, 1, TEXTURE_BANDS)
        raised = TILT * rng.normal() * across + BEND * rng.normal() * (1.5 * across**2 - 0.5)
        raised += UNEVEN * rng.normal(size=TEXTURE_BANDS)
        values = lesson.features.values.copy()
        for band, by in enumerate(raised):
            for span in SPANS_S:
                values[:, names.index(f"band {band}, {span}")] += by
        yield replace(lesson, features=Features(names, values))


def _moments(lesson: Lesson) -> Iterable[tuple[NDArray[np.float64], NDArray[np.int64]]]:
    times_s = lesson.features.times_s
    for section in lesson.sections:
        inside = (times_s >= section.start_s) & (times_s <= section.end_s)
        kind = WITH_TABLA if section.tala else section.kind
        yield lesson.features.values[inside], np.full(int(inside.sum()), KINDS.index(kind))


def _pieces(lesson: Lesson, seed: int) -> Iterable[tuple[NDArray[np.float64], int]]:
    rng = np.random.default_rng(seed)
    times_s = lesson.features.times_s
    for section in lesson.sections:
        if section.tala:
            ends = section.start_s + PIECE_EDGE_S, section.end_s - PIECE_EDGE_S
            own = lesson.features.values[(times_s >= ends[0]) & (times_s <= ends[1])]
            for _ in range(PIECES):
                length = min(len(own), int(rng.integers(*PIECE_STEPS)))
                first = int(rng.integers(len(own) - length + 1))
                yield of_stretch(own[first : first + length]), PLAYED.index(section.kind)
            yield of_stretch(own), PLAYED.index(section.kind)


def _changes(lesson: Lesson) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Moments with tabla and whether one gat ends and another begins there; those beside a change are left out."""
    times_s = lesson.features.times_s
    with_tabla = [section for section in lesson.sections if section.tabla_s]
    used, at_change = np.zeros(len(times_s), bool), np.zeros(len(times_s), bool)
    for section in with_tabla:
        used |= (times_s > section.tabla_s[0] + EDGE_S) & (times_s < section.tabla_s[1] - EDGE_S)
    for before, after in pairwise(lesson.sections):
        if before.tabla_s and after.tabla_s:
            ends_s, begins_s = before.tabla_s[1], after.tabla_s[0]
            near = (times_s > ends_s - NEAR_CHANGE_S) & (times_s < begins_s + NEAR_CHANGE_S)
            at = (times_s > ends_s - AT_CHANGE_S) & (times_s < begins_s + AT_CHANGE_S)
            used, at_change = (used & ~near) | at, at_change | at
    rows = pulse_change_features(lesson.evidence, heard_strokes(lesson.evidence), times_s[used])
    return rows, at_change[used]


def _fitted(
    rows: NDArray[np.float64],
    labels: NDArray[np.int64],
    names: Sequence[str],
    strength: float,
    class_weight: str | None = None,
) -> dict[str, Any]:
    from sklearn.linear_model import LogisticRegression

    mean, scale = rows.mean(axis=0), np.maximum(rows.std(axis=0), 1e-6)
    fit = LogisticRegression(C=strength, max_iter=500, class_weight=class_weight).fit(
        standardised(rows, mean, scale), labels
    )
    return {
        "mean": _rounded(mean),
        "scale": _rounded(scale),
        "weight": {name: _rounded(weight) for name, weight in zip(names, fit.coef_, strict=True)},
        "bias": {name: round(float(bias), DIGITS) for name, bias in zip(names, fit.intercept_, strict=True)},
    }


def _change_weights(rows: NDArray[np.float64], labels: NDArray[np.bool_]) -> dict[str, Any]:
    from sklearn.linear_model import LogisticRegression

    mean, scale = rows.mean(axis=0), rows.std(axis=0)
    fit = LogisticRegression(C=CHANGE_STRENGTH, max_iter=500).fit((rows - mean) / scale, labels)
    weight = fit.coef_[0] / scale
    return {"weight": _rounded(weight), "bias": round(float(fit.intercept_[0] - weight @ mean), DIGITS)}


def _rounded(values: NDArray[np.float64]) -> list[float]:
    return [round(float(value), DIGITS) for value in values]


def write(path: Path, weights: dict[str, Any]) -> None:
    """Write the weights, a row of numbers a line; nothing half-written stays under the final name."""
    unfinished = path.with_suffix(".part")
    unfinished.write_text(_lines(weights) + "\n", encoding="utf-8")
    unfinished.replace(path)


def _lines(value: Any, indent: int = 0) -> str:
    """JSON with every table's entries on lines of their own, and lists on one."""
    if not isinstance(value, dict):
        return json.dumps(value)
    inner = ",\n".join(f"{' ' * (indent + 1)}{json.dumps(key)}: {_lines(value[key], indent + 1)}" for key in value)
    return f"{{\n{inner}\n{' ' * indent}}}"


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what is not yet rendered, measure, learn, write."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.learn_sections", description=__doc__.split("\n")[0])
    parser.add_argument("--evenings", type=parse_seeds, default=parse_seeds("1-32"))
    parser.add_argument("--concerts", type=parse_seeds, default=parse_seeds("1-6,11-22"))
    parser.add_argument("--cache", type=Path, required=True, help="folder that keeps what is rendered")
    parser.add_argument("--into", type=Path, default=FILE)
    options = parser.parse_args(arguments)
    lessons = []
    for seed in options.evenings:
        path, evening = rendered_evening(seed, options.cache)
        lessons.append(lesson_of(measure(path), evening))
    for seed in options.concerts:
        path, concert = rendered_concert(seed, options.cache)
        lessons.append(lesson_of(measure(path), concert))
    write(options.into, learn(lessons))


if __name__ == "__main__":
    main()
