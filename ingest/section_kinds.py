"""What a recording consists of: alap, jor, jhala, gats named by laya, tabla solo, talk, tuning, applause.

Every half second is scored for each kind by what is heard around it (`section_features`, `section_weights`); the
recording is divided so that the scores agree best with the division, a change having its price and each kind its least
length (`section_decode`). Stretches with tabla begin and end at its first and last stroke (`tabla_edges`), fall into
gats where the pulse changes at once (`pulse_change`), and each is named by what is heard in it.

Without the tala the matra is not known, and the name of a gat follows from the sound of such gats, by the usual school;
`kind_names.gat_kind` names it by the laya and any school once a grid is there.

A judgement by balance and habit may be wrong: sections are there to be edited.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence
from ingest.pulse_change import pulse_changes
from ingest.section_decode import divided
from ingest.section_features import STEP_S, Features, onsets_heard, section_features
from ingest.section_weights import of_stretch, section_weights
from ingest.tabla_edges import HeardStrokes, first_stroke_s, heard_strokes, last_stroke_s, rests_s

WITH_TABLA = "with tabla"

# seconds: shorter than this a section of the kind is not looked for
LEAST_S = {"alap": 8, "jor": 10, "jhala": 8, WITH_TABLA: 14, "talk": 4, "tuning": 10, "applause": 3}
LEAST_SHARE = 0.25  # in a short recording also sections that make up a quarter of it
CHANGE_PRICE = 6.0
STEPS_PER_OBSERVATION = 4  # windows overlap: so many steps say what one says
LEAST_LOG_CHANCE = -7.0
# log odds. An alap that is the whole recording is loud for an alap, and would pass for tabla; and quiet plucking is
# more often an alap than tuning. Set by small recordings of a mandolin, an instrument that few lessons have.
HANDICAPS = {WITH_TABLA: 1.5, "tuning": 1.5}
SILENT_DB = -80.0
MUKHRA_BACK_S, MUKHRA_PAUSE_S = 3.0, 2.0
WITH_FIRST_S = 0.2  # an onset so soon after the first stroke is that stroke
BEFORE_ONSET_S = 0.1
PIECE_EDGE_S = 3.0  # at the ends of a gat the windows reach beyond it
SHORTEST_PIECE_S = 10.0


class HeardSection(NamedTuple):
    """A section as heard: one of `kind_names.KINDS`, seconds from the recording's start."""

    kind: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class TablaStretch:
    """A stretch with tabla: where it begins and ends among the other kinds, its first and last stroke, long rests."""

    start_s: float
    first_stroke_s: float
    last_stroke_s: float
    end_s: float
    rests_s: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Division:
    """A recording divided: other kinds as they are, stretches with tabla undivided; in order, without gaps."""

    features: Features
    strokes: HeardStrokes
    parts: tuple[HeardSection | TablaStretch, ...]


def sections_heard(evidence: Evidence) -> list[HeardSection]:
    """Divide a recording into sections and say of what kind each is.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    list of HeardSection
        In order, without gaps, from 0 to the recording's end; none for a silent recording. Two gats may follow each
        other under the same name: then the pulse changed between them.
    """
    division = divide(evidence)
    if division is None:
        return []
    sections: list[HeardSection] = []
    for part in division.parts:
        if isinstance(part, HeardSection):
            sections.append(part)
        else:
            sections += _gats(evidence, division, part)
    return sections


def divide(evidence: Evidence) -> Division | None:
    """Tell the kinds apart, gats not yet from each other; None for a silent recording."""
    if not len(evidence.level_db) or evidence.level_db.max() < SILENT_DB:
        return None
    features = section_features(evidence)
    section_weights().check(features)
    weights = section_weights().kinds
    scores = weights.scores(features.values)
    for kind, handicap in HANDICAPS.items():
        scores[:, weights.labels.index(kind)] -= handicap
    chances = np.maximum(_log_chances(scores), LEAST_LOG_CHANCE)
    least = [round(min(LEAST_S[kind], LEAST_SHARE * evidence.duration_s) / STEP_S) for kind in weights.labels]
    segments = [
        HeardSection(weights.labels[kind], first * STEP_S, min(last * STEP_S, evidence.duration_s))
        for kind, first, last in divided(chances / STEPS_PER_OBSERVATION, least, CHANGE_PRICE)
    ]
    segments[-1] = segments[-1]._replace(end_s=evidence.duration_s)
    strokes = heard_strokes(evidence)
    return Division(features, strokes, tuple(_with_edges(segments, strokes, onsets_heard(evidence))))


def _with_edges(
    segments: list[HeardSection], strokes: HeardStrokes, onsets_s: NDArray[np.float64]
) -> list[HeardSection | TablaStretch]:
    """Let every stretch with tabla hold its first and last stroke; its neighbours give way."""
    alone = strokes.lead_alone(
        [(each.start_s, each.end_s) for each in segments if each.kind in ("alap", "jor", "jhala")]
    )
    parts: list[HeardSection | TablaStretch] = []
    starts_s = segments[0].start_s
    for number, segment in enumerate(segments):
        after = segments[number + 1] if number + 1 < len(segments) else None
        start_s, end_s = max(starts_s, segment.start_s), segment.end_s
        if segment.kind == WITH_TABLA:
            outside_s = segments[number - 1].start_s if number else 0.0
            until_s = after.end_s if after else end_s
            first_s = first_stroke_s(strokes, segment.start_s, outside_s, end_s, alone)
            last_s = last_stroke_s(strokes, end_s, segment.start_s, until_s, alone)
            start_s = max(starts_s, _mukhra_s(onsets_s, start_s, first_s))
            end_s = max(end_s, last_s)
            if parts and isinstance(before := parts[-1], HeardSection):
                parts[-1] = before._replace(end_s=start_s)
            last_s = max(first_s, last_s)
            rests = tuple(rests_s(strokes, first_s, last_s, alone))
            parts.append(TablaStretch(start_s, first_s, last_s, end_s, rests))
        elif start_s > segment.start_s and end_s - start_s < LEAST_S[segment.kind]:  # too little is left of it
            parts[-1] = replace(parts[-1], end_s=end_s) if isinstance(parts[-1], TablaStretch) else parts[-1]
        else:
            parts.append(segment._replace(start_s=start_s))
        starts_s = end_s
    return parts


def _mukhra_s(onsets_s: NDArray[np.float64], start_s: float, first_stroke_s: float) -> float:
    """Where the lead takes up the mukhra that leads to the tabla's first stroke: after its last long pause."""
    low_s = min(start_s, first_stroke_s) - MUKHRA_BACK_S
    near = onsets_s[(onsets_s > low_s) & (onsets_s < first_stroke_s + WITH_FIRST_S)]
    pauses = np.flatnonzero(np.diff(near) > MUKHRA_PAUSE_S)
    begins_s = float(near[pauses[-1] + 1]) - BEFORE_ONSET_S if len(pauses) else start_s
    return min(begins_s, first_stroke_s)


def _gats(evidence: Evidence, division: Division, stretch: TablaStretch) -> list[HeardSection]:
    weights = section_weights()
    changes_s = pulse_changes(evidence, division.strokes, stretch.first_stroke_s, stretch.last_stroke_s, weights)
    edges_s = [stretch.start_s, *changes_s, stretch.end_s]
    values, times_s = division.features.values, division.features.times_s
    gats = []
    for start_s, end_s in pairwise(edges_s):
        margin_s = PIECE_EDGE_S if end_s - start_s > SHORTEST_PIECE_S else 0.0
        inside = (times_s >= start_s + margin_s) & (times_s <= end_s - margin_s)
        scores = weights.with_tabla.scores(of_stretch(values[inside] if inside.any() else values[-1:]))
        gats.append(HeardSection(weights.with_tabla.labels[int(scores.argmax())], start_s, end_s))
    return gats


def _log_chances(scores: NDArray[np.float64]) -> NDArray[np.float64]:
    top = scores.max(axis=1, keepdims=True)
    chances: NDArray[np.float64] = scores - top - np.log(np.exp(scores - top).sum(axis=1, keepdims=True))
    return chances
