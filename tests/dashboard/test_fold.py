"""The page folded at sam, as data: rows, strokes, tihais and phrases in them."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.figures.fold import TICKS_IN_S, Stretch, fold_rows, own_span_s, place, tala_data, ticks
from dashboard.figures.runs import PhraseRun, TihaiRun, add_phrases, add_tihais
from dashboard.figures.strokes import needles, strokes_of_row
from theory.talas import all_talas, get_tala

MATRA_S = 0.5


def rupak(first_matra: int = 1, matras: int = 21, start_s: float = 4.0) -> Stretch:
    """A stretch of rupak at half a second a matra; cycle 1 begins at the first sam."""
    counted = np.arange(matras) + first_matra - 1
    before_sam = first_matra > 1
    return Stretch(
        "gat",
        start_s,
        start_s + matras * MATRA_S,
        get_tala("rupak"),
        counted // 7 + (0 if before_sam else 1),
        counted % 7 + 1,
        start_s + MATRA_S * np.arange(matras),
    )


def rows_of(*stretches: Stretch, duration_s: float = 14.5) -> list[dict[str, Any]]:
    return fold_rows(stretches, duration_s)


def tihai(start_s: float, landing_s: float, **changed: Any) -> TihaiRun:
    """Three pallas of 5 matras without dam, two avartans of rupak long."""
    notes = tuple((Fraction(i), symbol) for i, symbol in enumerate("RmPNS"))
    values: dict[str, Any] = {"palla_matras": Fraction(5), "notes": notes, "verdict": "lands"}
    return TihaiRun("t01", tuple(start_s + 2.5 * i for i in range(3)), landing_s, **{**values, **changed})


def test_one_row_per_avartan_with_matra_1_at_its_beginning() -> None:
    rows = rows_of(Stretch("alap", 0.0, 4.0), rupak())
    assert [row["label"] for row in rows] == ["", "1", "2", "3"]
    assert [row["t"][0] for row in rows] == [0.0, 4.0, 7.5, 11.0]
    assert all(len(row["t"]) == 8 for row in rows[1:])


def test_a_section_entered_in_mid_cycle_begins_at_its_own_matra() -> None:
    rows = rows_of(rupak(first_matra=6, matras=16, start_s=0.0), duration_s=8.0)
    assert [row["first"] for row in rows] == [6, 1, 1]
    assert [row["label"] for row in rows] == ["", "1", "2"]
    assert place(rows, 0.0) == (0, 5.0)


def test_time_without_a_tala_is_folded_into_rows_of_twenty_seconds() -> None:
    rows = rows_of(Stretch("alap", 0.0, 47.0), duration_s=47.0)
    assert [row["t"][0] for row in rows] == [0.0, 20.0, 40.0]
    assert rows[-1]["t"] == [40.0, 45.0, 50.0]  # whole columns, so that 5 s are equally wide everywhere


def test_every_moment_of_the_recording_has_a_row_also_outside_all_sections() -> None:
    rows = rows_of(rupak(start_s=4.0), duration_s=30.0)
    for time_s in np.arange(0.0, 30.0, 0.37):
        assert place(rows, float(time_s)) is not None


def test_an_avartan_played_faster_takes_the_same_room() -> None:
    slow_then_fast = np.concatenate([np.arange(7) * 1.0, 7.0 + np.arange(7) * 0.5])
    stretch = Stretch(
        "gat", 0.0, 10.5, get_tala("rupak"), np.repeat([1, 2], 7), np.tile(np.arange(1, 8), 2), slow_then_fast
    )
    rows = rows_of(stretch, duration_s=10.5)
    assert place(rows, 3.0) == (0, 3.0)
    assert place(rows, 7.0 + 1.5) == (1, 3.0)


def test_what_a_section_holds_before_its_first_avartan_is_shown_in_seconds() -> None:
    late = rupak(start_s=4.0)
    section = Stretch("gat", 0.0, 14.5, late.tala, late.cycle, late.matra, late.matra_s)
    rows = rows_of(section)
    assert [(row["stretch"], row["t"][0]) for row in rows] == [(-1, 0.0), (0, 4.0), (0, 7.5), (0, 11.0)]


@given(time_s=st.floats(4.0, 14.4))
def test_a_folded_time_lies_between_the_columns_around_it(time_s: float) -> None:
    rows = rows_of(rupak())
    found = place(rows, time_s)
    assert found is not None
    row, x = found
    # straight grid: position in matras from 4.0 s; the row's times are kept to a tenth of a millisecond
    assert 7 * (row - 1) + x == pytest.approx((time_s - 4.0) / MATRA_S, abs=1e-3)


def test_a_tihai_from_sam_to_sam_runs_through_two_rows_and_lands_on_the_left_edge() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 11.0)])
    first, second, third = rows[1:]
    assert [(p["n"], p["from"], p["to"]) for p in first["pallas"]] == [(1, 0.0, 5.0), (2, 5.0, 7)]
    assert [(p["n"], p["from"], p["to"]) for p in second["pallas"]] == [(2, 0, 3.0), (3, 3.0, 7)]
    assert [(p["begins"], p["ends"]) for p in first["pallas"]] == [(True, True), (True, False)]
    assert [landing["x"] for landing in third["landings"]] == [0.0]
    assert [(p["n"], p["from"], p["to"]) for p in third["pallas"]] == [(3, 0, 1.0)]  # its last stroke rings on


def test_the_swaras_of_a_palla_stand_at_their_matras_also_over_the_end_of_a_row() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 11.0)])
    assert rows[1]["pallas"][1]["notes"] == [[5.0, "R"], [6.0, "m"]]
    assert rows[2]["pallas"][0]["notes"] == [[0.0, "P"], [1.0, "N"], [2.0, "S"]]
    assert rows[3]["pallas"][0]["notes"] == [[0.0, "S"]]  # the landing stroke on sam


def test_the_dam_is_drawn_between_the_pallas() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 11.0, palla_matras=Fraction(4))])
    assert [(link["from"], link["to"]) for link in rows[1]["links"]] == [(4.0, 5.0)]


def test_a_tihai_without_a_written_palla_is_drawn_from_start_to_start() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 11.0, palla_matras=None, notes=())])
    assert [(p["from"], p["to"]) for p in rows[1]["pallas"]] == [(0.0, 5.0), (5.0, 7)]
    assert rows[1]["links"] == []


def test_an_interval_of_which_no_palla_is_known_carries_no_number() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [TihaiRun("t01", (5.0,), 7.5)])
    assert [(p["n"], p["from"], p["to"]) for row in rows for p in row["pallas"]] == [(0, 2.0, 7)]


def test_a_landing_a_little_early_stands_beside_the_sam_it_is_meant_for() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 10.95)])
    assert rows[2]["landings"] == []
    assert rows[3]["landings"][0]["x"] == pytest.approx(-0.1)


def test_a_landing_half_a_matra_early_stays_in_the_row_where_it_was_played() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 10.75)])
    assert rows[2]["landings"][0]["x"] == pytest.approx(6.5)


def test_where_a_tihai_was_aimed_at_is_drawn_beside_the_landing_that_missed_it() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 10.75, aim_s=11.0)])
    assert [aim["x"] for aim in rows[3]["aims"]] == [0.0]


def test_a_palla_that_begins_a_hair_before_sam_is_not_cut_off_the_row_before() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(7.498, 14.4)])
    assert rows[1]["pallas"] == []
    assert rows[2]["pallas"][0]["begins"]


def test_tihais_that_overlap_get_lanes_of_their_own() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 11.0), tihai(5.0, 12.0)])
    assert {palla["lane"] for row in rows for palla in row["pallas"]} == {0, 1}


def test_a_tihai_outside_the_recording_is_left_out_rather_than_misplaced() -> None:
    rows = rows_of(rupak())
    add_tihais(rows, [tihai(4.0, 400.0)])
    assert all(row["pallas"] == [] and row["landings"] == [] for row in rows)


def test_a_phrase_is_cut_at_the_end_of_its_row_and_its_notes_are_shared_out() -> None:
    rows = rows_of(rupak())
    notes = ((0.0, "R"), (0.25, "m"), (0.5, "P"), (0.75, "D"))
    add_phrases(rows, [PhraseRun("p01", 6.5, 8.5, "R m P D", "mukhra", notes)])
    assert [[symbol for _, symbol in phrase["notes"]] for row in rows for phrase in row["phrases"]] == [
        ["R", "m"],
        ["P", "D"],
    ]
    assert [(p["from"], p["to"]) for row in rows for p in row["phrases"]] == [(5.0, 7), (0, 2.0)]


def test_a_phrase_that_ends_on_sam_leaves_nothing_in_the_next_row() -> None:
    rows = rows_of(rupak())
    add_phrases(rows, [PhraseRun("p01", 5.0, 7.51, "R m", "", ((0.0, "R"), (0.5, "m")))])
    assert [len(row["phrases"]) for row in rows] == [0, 1, 0, 0]
    assert rows[1]["phrases"][0]["ends"]


def strokes(rows: list[dict[str, Any]], index: int, times_s: Any, strength: Any, cells: int = 1024) -> list[int]:
    return strokes_of_row(rows[index], own_span_s(rows, index), np.asarray(times_s), np.asarray(strength), cells)


def test_strokes_stand_at_their_place_in_thousandths_of_a_column() -> None:
    rows = rows_of(rupak())
    assert strokes(rows, 1, [4.0, 4.25, 7.5], [9, 3, 5]) == [0, 9, 500, 3]
    assert strokes(rows, 2, [4.0, 4.25, 7.5], [9, 3, 5]) == [0, 5]
    assert strokes(rows, 3, [4.0, 4.25, 7.5], [9, 3, 5]) == []


def test_of_strokes_that_fall_into_one_step_the_strongest_is_drawn() -> None:
    rows = rows_of(rupak())
    # a matra is half a second here and is drawn in four steps of 125 ms
    assert strokes(rows, 1, [4.0, 4.1, 4.13, 4.5], [3, 8, 2, 4], cells=4) == [0, 8, 260, 2, 1000, 4]


def test_no_stroke_is_drawn_twice_and_none_is_lost() -> None:
    rows = rows_of(Stretch("alap", 0.0, 3.3), rupak(start_s=3.3), duration_s=14.5)
    times_s = np.arange(0.0, 13.75, 0.1)
    drawn = [strokes(rows, index, times_s, np.full(len(times_s), 5)) for index in range(len(rows))]
    assert sum(len(row) // 2 for row in drawn) == len(times_s)


@given(first_s=st.floats(0.0, 4000.0), matra_s=st.floats(0.1, 6.0))
def test_the_times_of_a_row_travel_to_a_tenth_of_a_millisecond(first_s: float, matra_s: float) -> None:
    row = {"t": [round(first_s + matra_s * i, 4) for i in range(17)]}
    assert [round(tick / TICKS_IN_S, 4) for tick in np.cumsum(ticks(row))] == row["t"]


@pytest.mark.parametrize("tala", all_talas(), ids=lambda tala: tala.key)
def test_the_head_of_every_tala_has_a_word_over_each_matra_and_its_khali_vibhags(tala: Any) -> None:
    data = tala_data(tala)
    assert len(data["theka"]) == tala.matras
    assert all(data["theka"])
    assert data["vibhags"] == list(tala.vibhag_starts)
    assert {mark["matra"] for mark in data["marks"] if mark["kind"] == "khali"} >= {begin for begin, _ in data["khali"]}


def test_in_rupak_the_khali_vibhag_is_the_one_that_sam_opens() -> None:
    assert tala_data(get_tala("rupak"))["khali"] == [[1, 4]]


def test_a_stroke_is_found_where_the_onset_strength_peaks() -> None:
    curve = np.zeros(100, dtype=np.float32)
    curve[[10, 50, 80]] = [4.0, 2.0, 4.0]
    times_s, strength = needles(curve, 0.01)
    assert times_s.tolist() == pytest.approx([0.1, 0.5, 0.8])
    assert strength.tolist() == [9, 4, 9]


def test_the_weakest_strokes_are_left_out_and_a_plateau_is_one_stroke() -> None:
    curve = np.zeros(100)
    curve[20:23] = 5.0
    curve[60] = 0.3
    times_s, strength = needles(curve, 0.01)
    assert times_s.tolist() == [0.2]
    assert strength.tolist() == [9]


@pytest.mark.parametrize("curve", [np.zeros(0), np.zeros(2), np.zeros(50), np.full(50, 3.0)])
def test_silence_and_a_constant_have_no_strokes(curve: Any) -> None:
    times_s, _ = needles(curve, 0.01)
    assert len(times_s) <= 1  # a constant from the first frame on begins there
