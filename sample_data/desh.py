"""Desh in teental: our own lines from the raga's swaras.

Aroha .N S R m P N S'; avaroha S' n D P m G R G S; Ga and Dha only on the way down, N up and n down.
"""

from __future__ import annotations

from fractions import Fraction

from sample_data import trio
from sample_data.score import Fill, Free, Line, Performance, PlannedTihai, mukhras
from theory.tihai import LandingRule

MUKHRA = "R mm P NN | S' -n DP mG"
STHAYI = "R - G S | .N S R -"
STHAYI_TURNED = "R m Pn DP | mG R GS R"
TAN = "RmPN S'nDP mGRG S.NSR | mPNS' R'S'nD PmGR GS.NS"

ALAP = (
    Free(".N S R", (0.5, 0.7, 1.5)),
    Free("R m G R", (0.45, 0.5, 0.4, 1.3)),
    Free("G S", (0.35, 1.4), ending="tremolo"),
    Free("R m P n D P", (0.35, 0.4, 0.9, 0.5, 0.4, 1.5), role="pakad"),
    Free("m P N S'", (0.35, 0.4, 0.7, 1.9), ending="tremolo"),
    Free("S' n D P", (0.35, 0.5, 0.4, 0.8)),
    Free("m G R", (0.35, 0.4, 1.2), role="pakad", rest_s=0.3),
)

LINES = (
    *mukhras(MUKHRA, 9, (0, 1, 3, 5, 7, 9, 10)),
    Line(1, 1, STHAYI, "sthayi"),
    Line(3, 1, STHAYI_TURNED, "sthayi"),
    Line(4, 1, "m - P N | S' - S' - | N S' R' S' | nD P mG R", "antara"),
    Line(5, 1, "R' m'G' R' S' | N S' nD P", "antara"),
    Line(7, 1, "R -"),
    Line(9, 1, STHAYI, "sthayi"),
    Line(10, 1, TAN, "tan"),
    Line(12, 1, "R - - -"),
)

TIHAIS = (
    PlannedTihai(
        "The tabla enters with a small tihai over the mukhra, 3 x 3 matras",
        0, Fraction(9), "TiRaKiTa DhaTiTe Dha", Fraction(0), "tabla",
    ),
    PlannedTihai(
        "Damdar of 5 and 1, a little behind the tabla",
        2, Fraction(1), "RmP NS' nDP mG R", Fraction(1), "mandolin", late_ms=60.0,
    ),
    PlannedTihai(
        "The dha of the landing follows the third palla",
        3, Fraction(9), "TiTeKaTa GaDiGaNa", Fraction(1), "tabla",
        rule=LandingRule.AFTER, landing="Dha", filler="Dha",
    ),
    PlannedTihai(
        "Bedam of 5 1/2, mandolin and tabla together",
        6, Fraction(1), "Rm PN S'n DP mG R:1/2", Fraction(0), "both",
        bols="DhaTi TeDha TiTe DhaDha TiTe Dha:1/2",
    ),
    PlannedTihai(
        "Aimed at the first matra of the mukhra, dam of half a matra",
        7, Fraction(3), "PmG R", Fraction(1, 2), "mandolin", target=Fraction(9),
    ),
    PlannedTihai(
        "Half a matra short: the dam should have been 2 1/4",
        8, Fraction(1), "Rm Pn Dm GR", Fraction(2), "mandolin", verdict="misses",
    ),
    PlannedTihai(
        "Last tihai, damdar of 5 and 1, mandolin and tabla together",
        11, Fraction(1), "RmPN S'- nDPm G-GG R", Fraction(1), "both",
        bols="DhaTiTe DhaTiTe DhaDha TiTe Dha",
    ),
)  # fmt: skip

FILLS = (
    Fill(1, 16, "TiRaKiTa"),
    Fill(4, 13, "Ta Dhin DhaGe TiRaKiTa"),
    Fill(5, 15, "DhinDhin DhaGe"),
    Fill(9, 14, "DhinGe DhaGe TiRaKiTa"),
)

DESH = Performance(
    name="desh_teental",
    title="Desh, gat in teental",
    performed_on="2025-12-13",
    venue=trio.VENUE,
    musicians=trio.MUSICIANS,
    raga="desh",
    tala="teental",
    sa_hz=294.5,
    seed=31,
    tempo=(96.0, 120.0),
    lead_in=8,
    cycles=11,
    drone_ratios=(0.75, 1.0, 1.0, 0.5),
    alap=ALAP,
    lines=LINES,
    tihais=TIHAIS,
    fills=FILLS,
    notes=trio.NOTES,
)
