"""What an evening is made of: its sections and how they follow each other; everything follows from the seed.

Four outlines go round with the seed. Laya lies well inside the ranges that `ingest.kind_names` names by.

Conventions: as in ``benchmarks.concerts.plan``, whose plan supplies Sa, raga, room, levels and noise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from benchmarks.concerts.plan import ConcertPlan, SectionPlan, plan_concert

VILAMBIT, MADHYA, DRUT = (14.0, 42.0), (64.0, 98.0), (130.0, 215.0)
SLOW_TALAS = ("teental", "ektal", "jhaptal", "rupak")
QUICK_TALAS = ("teental", "jhaptal", "rupak", "keherwa", "dadra", "ektal")
DRIFTS = (1.0, 1.08, 1.2)
MANDOLIN = -1
MANDOLIN_SHARE = 0.2
PROGRAMS = (104, 104, 104, 24, 25, 105, 106, 107)  # General MIDI: sitar, guitars, banjo, shamisen, koto
SEED_OF_PLAN = 7000  # so that no evening has the faults of a bench concert


@dataclass(frozen=True)
class Item:
    """A section of an evening before it is played.

    Attributes
    ----------
    kind : str
        ``"alap"``, ``"jor"``, ``"jhala"``, ``"vilambit gat"``, ``"madhya gat"``, ``"drut gat"``, ``"tabla solo"``,
        ``"talk"``, ``"tuning"`` or ``"applause"``.
    seconds : float
        About how long.
    pause_s : float
        Before it, after the last sound of the section before; 0 for a gat that goes on from the one before on sam.
    section : SectionPlan or None
        For what is played in a pulse: tala and laya.
    """

    kind: str
    seconds: float
    pause_s: float
    section: SectionPlan | None = None


@dataclass(frozen=True)
class EveningPlan:
    """An evening before it is played.

    Attributes
    ----------
    concert : ConcertPlan
        Sa, raga, levels, room, noise; its own sections are not played.
    program : int
        Of the lead's instrument in General MIDI; `MANDOLIN` for the synthetic mandolin of ``sample_data``.
    synthetic_tabla : bool
        Whether the tabla is that of ``sample_data`` and not the recorded one.
    chikari : bool
        Whether the lead strikes the chikari now and then in alap and jor.
    drone_in_talk : bool
        Whether the tanpura goes on while people talk and clap.
    talk_db, applause_db : float
        Level against the tabla (RMS).
    """

    seed: int
    concert: ConcertPlan
    items: tuple[Item, ...]
    program: int
    synthetic_tabla: bool
    chikari: bool
    drone_in_talk: bool
    talk_db: float
    applause_db: float


# kind, about how many seconds; "+" goes on without a pause
OUTLINES: tuple[tuple[tuple[str, float], ...], ...] = (
    (("talk", 20), ("applause", 8), ("tuning", 22), ("alap", 50), ("jor", 40), ("jhala", 35), ("vilambit gat", 90),
     ("+drut gat", 60), ("applause", 10), ("talk", 15)),
    (("tuning", 18), ("alap", 40), ("tuning", 10), ("vilambit gat", 80), ("madhya gat", 60), ("+drut gat", 50),
     ("applause", 9), ("talk", 25), ("alap", 30), ("madhya gat", 60)),
    (("applause", 7), ("talk", 25), ("tuning", 25), ("madhya gat", 70), ("tabla solo", 60), ("applause", 8),
     ("alap", 45), ("jor", 45), ("jhala", 40), ("applause", 8)),
    (("tuning", 15), ("talk", 15), ("alap", 45), ("jor", 35), ("vilambit gat", 80), ("+madhya gat", 50),
     ("tabla solo", 50), ("drut gat", 50), ("applause", 12), ("tuning", 15)),
)  # fmt: skip


def plan_evening(seed: int) -> EveningPlan:
    """Draw an evening; the outline is number ``(seed - 1) % 4``."""
    rng = np.random.default_rng((seed, 60))
    concert = replace(plan_concert(SEED_OF_PLAN + seed), sections=())
    items = tuple(_item(kind, seconds, rng) for kind, seconds in OUTLINES[(seed - 1) % len(OUTLINES)])
    program = int(rng.choice(PROGRAMS))
    if np.random.default_rng((seed, 65)).random() < MANDOLIN_SHARE:
        program = MANDOLIN
    return EveningPlan(
        seed=seed,
        concert=concert,
        items=items,
        program=program,
        synthetic_tabla=bool(rng.random() < 0.25),
        chikari=bool(rng.random() < 0.6),
        drone_in_talk=bool(rng.random() < 0.5),
        talk_db=float(rng.uniform(-9.0, 3.0)),
        applause_db=float(rng.uniform(-8.0, 4.0)),
    )


def _item(kind: str, seconds: float, rng: np.random.Generator) -> Item:
    goes_on = kind.startswith("+")
    kind = kind.removeprefix("+")
    seconds *= float(rng.uniform(0.85, 1.2))
    pause_s = 0.0 if goes_on else float(rng.uniform(0.4, 4.0))
    if kind in ("alap", "talk", "tuning", "applause"):
        return Item(kind, seconds, pause_s)
    low, high = {
        "jor": (60.0, 100.0),
        "jhala": (95.0, 150.0),
        "vilambit gat": VILAMBIT,
        "madhya gat": MADHYA,
        "drut gat": DRUT,
        "tabla solo": (70.0, 100.0),
    }[kind]
    start = float(np.exp(rng.uniform(np.log(low), np.log(high))))
    end = min(high, start * float(rng.choice(DRIFTS)))
    talas = SLOW_TALAS if kind == "vilambit gat" else QUICK_TALAS
    tala = "teental" if kind == "tabla solo" else str(rng.choice(talas)) if "gat" in kind else ""
    played = "gat" if "gat" in kind else kind
    if kind == "vilambit gat":  # two avartans at least
        seconds = max(seconds, 100.0 if start > 20 else 120.0)
    return Item(kind, seconds, pause_s, SectionPlan(played, seconds, tala, (start, end)))
