"""Single strokes of a tihai against paper, on a straight grid where every time can be worked out in the head.

Teental at 0.5 s a matra, sam at 10 s: matra m of the first avartan lies at 10 + (m - 1) / 2 s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from annotate.grid import Grid
from annotate.records import TihaiRecord
from annotate.strokes_played import FARTHEST_S, played_strokes
from theory.talas import get_tala
from theory.tihai import LandingRule

MATRA_S = 0.5


def grid() -> Grid:
    numbers = np.arange(48)
    return Grid(
        section="gat",
        start_s=10.0,
        end_s=34.0,
        tala=get_tala("teental"),
        cycle=(numbers // 16 + 1).astype(np.int32),
        matra=(numbers % 16 + 1).astype(np.int32),
        matra_s=(10.0 + MATRA_S * numbers).astype(np.float64),
        confidence=np.ones(48, np.float32),
        sam_source=("marked",) * 3,
        sam_confidence=np.ones(3, np.float32),
        solo=np.zeros(48, bool),
    )


def bedam(late_s: float = 0.0) -> TihaiRecord:
    """Five matras three times from matra 3: 5 + 5 + 5 = 15, whose last stroke is on sam (matra 17)."""
    starts = tuple(11.0 + 2.5 * number + late_s for number in range(3))
    return TihaiRecord(
        "t01", palla_s=starts, landing_s=18.0 + late_s, palla="R m P N S'", dam=Fraction(0), start=Fraction(3)
    )


def onsets(*missing: int, off_s: float = 0.0) -> np.ndarray:
    """A stroke on each of the fifteen notes but those named (from 0), all of them off by so much."""
    return np.array([11.0 + MATRA_S * number + off_s for number in range(15) if number not in missing])


def devs(strokes: Sequence[object]) -> list[float | None]:
    return [None if each.dev_ms is None else round(each.dev_ms, 6) for each in strokes]  # type: ignore[attr-defined]


def test_every_note_has_the_stroke_that_falls_on_it() -> None:
    strokes = played_strokes(bedam(), grid(), onsets(off_s=0.02))
    assert devs(strokes) == [20.0] * 15
    assert [each.palla for each in strokes] == [1] * 5 + [2] * 5 + [3] * 5
    assert [each.symbol for each in strokes[:5]] == ["R", "m", "P", "N", "S'"]
    assert [each.is_landing for each in strokes] == [False] * 14 + [True]
    assert strokes[-1].matra == 1


def test_a_note_without_a_stroke_near_it_is_not_found_and_nothing_is_made_up() -> None:
    strokes = played_strokes(bedam(), grid(), onsets(1, 7))
    assert [number for number, each in enumerate(strokes) if each.played_s is None] == [1, 7]


def test_a_tihai_played_late_as_a_whole_is_looked_for_where_it_was_played_and_held_against_paper() -> None:
    late_s = 0.2  # farther than any stroke is looked for
    assert late_s > FARTHEST_S
    strokes = played_strokes(bedam(late_s), grid(), onsets(off_s=late_s))
    assert devs(strokes) == [200.0] * 15


@pytest.mark.parametrize(("off_s", "found"), [(FARTHEST_S - 0.001, True), (FARTHEST_S + 0.001, False)])
def test_a_stroke_counts_up_to_the_tolerance_and_not_beyond(off_s: float, found: bool) -> None:
    strokes = played_strokes(bedam(), grid(), onsets(off_s=off_s))
    assert all((each.played_s is not None) == found for each in strokes)


def test_between_quick_notes_a_stroke_is_looked_for_half_way_to_the_neighbour_only() -> None:
    quick = replace(bedam(), palla="RmPN S'm P N S'")  # four to a matra: 125 ms apart, so 62.5 ms around
    strokes = played_strokes(quick, grid(), np.array([11.0, 11.125 + 0.07]))
    assert strokes[1].reach_s == pytest.approx(0.0625)
    assert devs(strokes)[:3] == [0.0, None, -55.0]  # 70 ms after the second it is the third's, 55 ms early


def test_the_stroke_that_lands_after_the_third_palla_is_a_note_too() -> None:
    after = TihaiRecord(
        "t01",
        palla_s=(14.0, 15.5, 17.0),
        landing_s=18.0,
        palla="Dha Dha",
        dam=Fraction(1),
        start=Fraction(9),
        rule=LandingRule.AFTER,
    )
    strokes = played_strokes(after, grid(), np.array([14.0, 14.5, 15.5, 16.0, 17.0, 17.5, 18.01]))
    assert [(each.symbol, each.is_landing) for each in strokes[-2:]] == [("Dha", False), ("", True)]
    assert devs(strokes) == [0.0] * 6 + [10.0]


@pytest.mark.parametrize("missing", ["palla", "start", "dam", "marks", "grid"])
def test_nothing_is_told_where_something_is_not_written_down(missing: str) -> None:
    record = bedam()
    changed = {
        "palla": replace(record, palla=""),
        "start": replace(record, start=None),
        "dam": replace(record, dam=None),
        "marks": replace(record, palla_s=record.palla_s[:1]),
    }
    told = played_strokes(changed.get(missing, record), None if missing == "grid" else grid(), onsets())
    assert told == ()
