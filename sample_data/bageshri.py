"""Bageshri in jhaptal: our own lines from the raga's swaras.

Aroha .D .n S, m g m, D n S'; avaroha S' n D, m g, m g R S; no Pa, Re only on the way down.
"""

from __future__ import annotations

from fractions import Fraction

from sample_data import trio
from sample_data.score import Fill, Free, Line, Performance, PlannedTihai, mukhras
from theory.tihai import LandingRule

MUKHRA = "D n | S'n D mg"
STHAYI = "m - | gR S m"
STHAYI_TURNED = "m gR | S .nS gm"
TAN = "m-gm DnS'n | DmgR S.nSg mDnD"

ALAP = (
    Free(".D .n S", (0.6, 0.5, 1.6)),
    Free("S m", (0.5, 1.7), ending="tremolo"),
    Free("m g m", (0.4, 0.5, 1.3), role="pakad"),
    Free("m g R S", (0.35, 0.7, 0.5, 1.4)),
    Free("g m D n D", (0.35, 0.4, 0.9, 0.6, 1.4), role="pakad"),
    Free("m D n S'", (0.35, 0.45, 0.5, 2.0), ending="tremolo"),
    Free("S' n D m", (0.4, 0.5, 0.5, 1.2), role="pakad", rest_s=0.4),
)

LINES = (
    *mukhras(MUKHRA, 6, (0, 1, 2, 4, 6, 8, 10, 11)),
    Line(1, 1, STHAYI, "sthayi"),
    Line(2, 1, STHAYI_TURNED, "sthayi"),
    Line(4, 1, STHAYI, "sthayi"),
    Line(5, 1, "g m | D n S' | S' - | nS' g'R' S'", "antara"),
    Line(6, 1, "nD m | gm Dn S'", "antara"),
    Line(8, 1, STHAYI, "sthayi"),
    Line(9, 1, "m -"),
    Line(10, 1, TAN, "tan"),
    Line(14, 1, "m - -"),
)

TIHAIS = (
    PlannedTihai(
        "Bedam of 3 1/2, mandolin and tabla together",
        3, Fraction(1), "mg mD nD m:1/2", Fraction(0), "both", bols="DhaTi TeDha TiTe Dha:1/2",
    ),
    PlannedTihai(
        "Damdar of 3 and 1: right on paper, but it drags and comes down after the tabla's sam",
        7, Fraction(1), "mgm DnD m", Fraction(1), "mandolin", verdict="late", late_ms=200.0,
    ),
    PlannedTihai(
        "Tabla alone over the sthayi, in quarter matras: 2 1/4 and 1 3/4",
        8, Fraction(1), "DhaTiTeDha GaDiGaNa Dha:1/4", Fraction(7, 4), "tabla",
    ),
    PlannedTihai(
        "The swara of the landing follows the third palla",
        9, Fraction(3), "nD mg", Fraction(1), "mandolin", rule=LandingRule.AFTER, landing="m",
    ),
    PlannedTihai(
        "Aimed at the first matra of the mukhra, without dam",
        11, Fraction(1), "mDn D", Fraction(0), "mandolin", target=Fraction(6),
    ),
    PlannedTihai(
        "Last tihai, through two avartans, damdar of 5 and 3, mandolin and tabla together",
        12, Fraction(1), "gmD nS' nDm gS m", Fraction(3), "both", bols="DhaTiTe DhaTi DhaTiTe DhaGe Dha",
    ),
)  # fmt: skip

FILLS = (
    Fill(2, 10, "TiRaKiTa"),
    Fill(5, 9, "DhinGe TiRaKiTa"),
    Fill(10, 8, "Dhin DhinGe TiRaKiTa"),
)

BAGESHRI = Performance(
    name="bageshri_jhaptal",
    title="Bageshri, gat in jhaptal",
    performed_on="2025-12-14",
    venue=trio.VENUE,
    musicians=trio.MUSICIANS,
    raga="bageshri",
    tala="jhaptal",
    sa_hz=277.0,
    seed=57,
    tempo=(70.0, 84.0),
    lead_in=5,
    cycles=13,
    drone_ratios=(2 / 3, 1.0, 1.0, 0.5),
    alap=ALAP,
    lines=LINES,
    tihais=TIHAIS,
    fills=FILLS,
    sways="g",
    notes=trio.NOTES,
)
