"""What a section with a tala is, once its cycle was followed: a gat, named by its laya, or a tabla solo.

By sound alone a gat in which the tabla takes a kaida for some avartans passes for a solo, and a solo with its theka
passes for a gat. With the cycle more is known. Avartan by avartan the strokes bear out the theka or they do not: where
they do so much less than in the section's plainest avartans, the theka was left. In a gat it is left for some avartans
and taken up again; in a solo the tabla leads throughout, the theka coming back for an avartan between two kaidas, over
a lehra that is the same in every avartan. Common practice, no source; players differ, and so may a person who listens.

Conventions: an avartan counts where all its matras lie in the section. Thresholds and weights were chosen on the bench
(`benchmarks.sections` and concerts, see there for what came out).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from ingest.evidence import Evidence
from ingest.kind_names import USUAL_SCHOOL, WITH_TALA, gat_kind
from ingest.melody import Melody
from ingest.strokes_heard import strokes_heard
from ingest.theka_profile import theka_places
from theory.talas import Tala

TABLA_SOLO = "tabla solo"
LEAST_AVARTANS = 4  # with fewer little can be said of how they differ, and what the sound says stands
PLAINEST_SHARE = 0.25  # of the avartans: those that bear the theka out best
LEFT_BELOW = 0.55  # of what the plainest bear it out
BRIDGED_AVARTANS, BRIDGED_FROM = 1, 3  # so short a return to the theka, between runs so long, is part of the solo
SOUNDS_LIKE_A_SOLO, LEHRA = 0.2, 0.2  # what these count for beside the share of the longest run without theka
SOLO_FROM = 0.6
VOICED = 0.2  # as `draft` has it
SAME_SWARA_CENTS = 60.0
PLACES_A_MATRA = 4
LEAST_SUNG = 0.3  # share of an avartan's places at which both must sound to be compared
HEARD_PAST_S = 0.05  # a last matra on the very end is still heard


class Course(Protocol):
    """What was followed: position and time of every matra (see `cycle.CycleFit`)."""

    @property
    def cycle(self) -> NDArray[np.integer[Any]]:
        """Number of the avartan, shape (k,)."""

    @property
    def matra(self) -> NDArray[np.integer[Any]]:
        """From 1 at sam, shape (k,)."""

    @property
    def matra_s(self) -> NDArray[np.float64]:
        """Seconds, ascending, shape (k,)."""

    @property
    def solo(self) -> NDArray[np.bool_]:
        """Where the search itself left the theka, shape (k,)."""


def kind_by_cycle(
    kind: str,
    evidence: Evidence,
    melody: Melody,
    span_s: tuple[float, float],
    tala: Tala,
    course: Course,
    school: str = USUAL_SCHOOL,
) -> str:
    """Name a section by its cycle.

    Parameters
    ----------
    kind : str
        As heard by sound alone; what has no tala, or goes by a name of a person's own, is returned as it is.
    evidence : Evidence
    melody : Melody
    span_s : tuple of float
        Start and end of the section.
    tala : Tala
    course : CycleFit or annotate's Grid
        The cycle as followed through the section.
    school : str
        Whose tempo names a gat goes by (key of ``theory.tempo``); schools differ.

    Returns
    -------
    str
        One of `kind_names.GATS`, or ``"tabla solo"``.

    Raises
    ------
    theory.errors.UnknownName
        No such school.
    """
    if kind not in WITH_TALA or len(course.matra_s) < 2:
        return kind
    gat = gat_kind(60.0 / float(np.median(np.diff(course.matra_s))), school)
    left = theka_left(evidence, span_s, tala, course)
    if len(left) < LEAST_AVARTANS:
        return TABLA_SOLO if kind == TABLA_SOLO else gat
    points = longest_run(left) + LEHRA * lehra_likeness(melody, tala, course)
    points += SOUNDS_LIKE_A_SOLO * (kind == TABLA_SOLO)
    return TABLA_SOLO if points > SOLO_FROM else gat


def theka_left(evidence: Evidence, span_s: tuple[float, float], tala: Tala, course: Course) -> NDArray[np.bool_]:
    """Tell for every whole avartan, in order, whether the theka was left in it; shape (avartans,)."""
    per_matra = _theka_borne_out(evidence, span_s, tala, course)
    rows = _whole_avartans(tala, course)
    if not len(rows):
        return np.zeros(0, dtype=bool)
    borne_out = per_matra[rows].mean(axis=1)
    plainest = np.sort(borne_out)[-max(1, round(PLAINEST_SHARE * len(rows))) :].mean()
    by_search = course.solo[rows].mean(axis=1) > 0.5
    left: NDArray[np.bool_] = by_search | (borne_out < LEFT_BELOW * max(plainest, 0.0))
    return left


def longest_run(left: Sequence[bool] | NDArray[np.bool_]) -> float:
    """Share of the avartans that the longest run without theka takes up, short returns to it bridged."""
    runs = [(value, len(list(run))) for value, run in groupby(map(bool, left))]
    longest = current = 0
    for number, (is_left, length) in enumerate(runs):
        if is_left:
            current += length
            longest = max(longest, current)
        else:
            around = [runs[n][1] for n in (number - 1, number + 1) if 0 <= n < len(runs)]
            bridged = length <= BRIDGED_AVARTANS and len(around) == 2 and min(around) >= BRIDGED_FROM
            current = current + length if bridged else 0
    return longest / len(left) if len(left) else 0.0


def lehra_likeness(melody: Melody, tala: Tala, course: Course) -> float:
    """How much each avartan's melody is that of the one before it: 0 to 1, near 1 for a lehra.

    The mean over pairs of neighbouring avartans of the share of places, four to the matra, with the same swara in
    whatever octave; pairs in which the lead rests are left out, and without any the answer is a half.
    """
    rows = _whole_avartans(tala, course)
    if len(rows) < 2 or not len(melody.voicing):
        return 0.5
    ends_s = np.append(course.matra_s[1:], course.matra_s[-1] + np.diff(course.matra_s[-2:]))
    shares = (np.arange(PLACES_A_MATRA) + 0.5) / PLACES_A_MATRA
    at_s = course.matra_s[rows][:, :, None] + shares * (ends_s - course.matra_s)[rows][:, :, None]
    frame = np.clip(np.rint(at_s / melody.hop_s).astype(int), 0, len(melody.voicing) - 1).reshape(len(rows), -1)
    cents = 1200 * np.log2(np.maximum(melody.fundamental_hz, 1.0))[frame]
    sounds = melody.voicing[frame] > VOICED
    both = sounds[1:] & sounds[:-1]
    apart = np.abs((cents[1:] - cents[:-1] + 600) % 1200 - 600)
    enough = both.mean(axis=1) > LEAST_SUNG
    if not enough.any():
        return 0.5
    same = ((apart < SAME_SWARA_CENTS) & both).sum(axis=1)[enough] / both.sum(axis=1)[enough]
    return float(same.mean())


def _theka_borne_out(
    evidence: Evidence, span_s: tuple[float, float], tala: Tala, course: Course
) -> NDArray[np.float64]:
    """Log likelihood ratio of the theka's strokes in each matra, shape (k,)."""
    heard = strokes_heard(evidence, span_s[0], span_s[1] + HEARD_PAST_S)
    length_s = np.gradient(course.matra_s)
    borne_out = np.zeros(len(course.matra_s))
    ratios: dict[bytes, NDArray[np.float32]] = {}
    for place in theka_places(tala):
        alike = place.bayan.tobytes() + place.dayan.tobytes() + bytes(str(place.kept), "ascii")
        if alike not in ratios:
            ratios[alike] = heard.log_ratio(place.bayan, place.dayan, place.kept)
        here = np.flatnonzero(course.matra == place.matra + 1)
        frame = np.rint((course.matra_s[here] + place.share * length_s[here] - span_s[0]) / heard.hop_s).astype(int)
        inside = (frame >= 0) & (frame < len(heard))
        borne_out[here[inside]] += ratios[alike][frame[inside]]
    return borne_out


def _whole_avartans(tala: Tala, course: Course) -> NDArray[np.int64]:
    """Rows of every avartan that is whole, shape (avartans, matras)."""
    sams = np.flatnonzero(course.matra == 1)
    whole = sams[sams + tala.matras <= len(course.matra)]
    return (whole[:, None] + np.arange(tala.matras)).astype(np.int64)
