"""What a concert is made of: sections, talas, laya, lead, room; everything follows from the seed.

Six outlines go round with the seed, so that any six seeds in a row bring all six talas and every laya from ati-vilambit
to ati-drut. Within an outline the seed draws the laya, its drift, Sa, raga, instrument and the recording's faults.

Conventions: laya in matras a minute (mpm), time in seconds, frequency in Hz, levels in dB.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from theory.ragas import all_ragas
from theory.talas import get_tala

SLOWEST_MPM, FASTEST_MPM = 10.0, 240.0
DRIFTS = (1.5, 1.25, 1.08)
LEADS = ("sitar", "nylon guitar", "steel guitar")
# a raga is wanted whose scale has the fifth or the fourth that the tanpura is tuned to
PA_DRONE, MA_DRONE = (0.75, 1.0, 1.0, 0.5), (2 / 3, 1.0, 1.0, 0.5)


@dataclass(frozen=True)
class SectionPlan:
    """A section before it is played.

    Attributes
    ----------
    kind : str
        ``"alap"``, ``"jor"``, ``"gat"`` or ``"tabla solo"``.
    seconds : float
        About how long; a gat or solo is rounded to whole avartans.
    tala : str
        Key; '' without tabla.
    mpm : tuple of float
        Laya at the start and at the end; of a jor, its pulse; (0, 0) of an alap.
    """

    kind: str
    seconds: float
    tala: str = ""
    mpm: tuple[float, float] = (0.0, 0.0)

    @property
    def cycles(self) -> int:
        """Whole avartans, at least two."""
        return max(2, round(self.seconds * sum(self.mpm) / 2 / 60 / get_tala(self.tala).matras))


@dataclass(frozen=True)
class ConcertPlan:
    """A concert before it is played.

    Attributes
    ----------
    sa_hz : float
        Sa of the lead's middle octave.
    jitter_s : float
        Standard deviation of the strokes about the pulse.
    missing, varied : float
        Share of the theka's strokes left out, and of its whole matras played otherwise.
    bayan_db : float
        Level of the bayan: in many recordings it is weak.
    lead_db, noise_db : float
        Level of the lead against the tabla (RMS); of the noise against full scale.
    room_gain, reverberation_s : float
        Linear gain of the room's answer; time to fall by 60 dB.
    mp3_quality : float
        Of the MP3 pass, 0 (best) to 1; negative for none.
    """

    seed: int
    sa_hz: float
    raga: str
    lead: str
    drone_ratios: tuple[float, ...]
    sections: tuple[SectionPlan, ...]
    jitter_s: float
    missing: float
    varied: float
    bayan_db: float
    lead_db: float
    drone_db: float
    noise_db: float
    room_gain: float
    reverberation_s: float
    mp3_quality: float


@dataclass(frozen=True)
class _Outline:
    kind: str
    seconds: float
    tala: str = ""
    mpm: tuple[float, float] = (0.0, 0.0)


OUTLINES: tuple[tuple[_Outline, ...], ...] = (
    (_Outline("alap", 24), _Outline("gat", 120, "teental", (22, 40)), _Outline("gat", 60, "ektal", (130, 190))),
    (
        _Outline("alap", 18),
        _Outline("jor", 20, "", (70, 100)),
        _Outline("gat", 80, "jhaptal", (58, 90)),
        _Outline("gat", 75, "teental", (150, 165)),
    ),
    (_Outline("alap", 22), _Outline("gat", 100, "rupak", (20, 36)), _Outline("gat", 60, "keherwa", (70, 150))),
    (_Outline("alap", 15), _Outline("gat", 150, "ektal", (10, 14)), _Outline("gat", 60, "teental", (160, 215))),
    (
        _Outline("jor", 22, "", (60, 95)),
        _Outline("gat", 105, "jhaptal", (16, 30)),
        _Outline("gat", 45, "dadra", (60, 130)),
        _Outline("tabla solo", 65, "teental", (72, 100)),
    ),
    (
        _Outline("alap", 20),
        _Outline("gat", 70, "rupak", (66, 110)),
        _Outline("gat", 50, "dadra", (120, 165)),
        _Outline("gat", 55, "keherwa", (150, 200)),
    ),
)


def plan_concert(seed: int) -> ConcertPlan:
    """Draw a concert.

    Parameters
    ----------
    seed : int
        From 1; the outline is number ``(seed - 1) % 6``.

    Returns
    -------
    ConcertPlan
    """
    rng = np.random.default_rng((seed, 20))
    ragas = [raga for raga in all_ragas() if {"P", "m"} & set(raga.swaras)]
    raga = ragas[int(rng.integers(len(ragas)))]
    return ConcertPlan(
        seed=seed,
        sa_hz=float(110.0 * 2 ** rng.uniform(0.0, 1.25)),
        raga=raga.key,
        lead=LEADS[int(rng.integers(len(LEADS)))],
        drone_ratios=PA_DRONE if "P" in raga.swaras else MA_DRONE,
        sections=tuple(_drawn(outline, rng) for outline in OUTLINES[(seed - 1) % len(OUTLINES)]),
        jitter_s=float(rng.uniform(0.010, 0.016)),
        missing=float(rng.uniform(0.02, 0.15)),
        varied=float(rng.uniform(0.1, 0.4)),
        bayan_db=float(rng.uniform(-9.0, 1.0)),
        lead_db=float(rng.uniform(-4.0, 7.0)),
        drone_db=float(rng.uniform(-17.0, -10.0)),
        noise_db=float(rng.uniform(-62.0, -42.0)),
        room_gain=float(rng.uniform(0.10, 0.35)),
        reverberation_s=float(rng.uniform(0.6, 1.9)),
        mp3_quality=float(rng.uniform(0.3, 0.9)) if rng.random() < 0.67 else -1.0,
    )


def _drawn(outline: _Outline, rng: np.random.Generator) -> SectionPlan:
    seconds = outline.seconds * rng.uniform(0.9, 1.1)
    start = float(np.exp(rng.uniform(*np.log(np.maximum(outline.mpm, 1e-9)))))
    if outline.kind == "alap":
        return SectionPlan("alap", seconds)
    drift = float(rng.choice(DRIFTS, p=(0.4, 0.3, 0.3)))
    end = min(FASTEST_MPM, start * drift)
    return SectionPlan(outline.kind, seconds, outline.tala, (max(SLOWEST_MPM, start), end))
