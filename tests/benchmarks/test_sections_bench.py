"""The measures of the sections' benchmark, and what its weights are learnt from, on cases counted by hand."""

from __future__ import annotations

import json

import numpy as np
import pytest

from benchmarks.evenings.evening import SectionHeld
from benchmarks.learn_sections import COPIES, KINDS, PLAYED, Lesson, _equalised, _lines, _moments
from benchmarks.sections import EveningScore, _found_near, confusion, confusion_table, evening_table
from ingest import kind_names
from ingest.section_features import Features, section_features
from ingest.section_kinds import HeardSection
from ingest.section_weights import of_stretch, section_weights, weights_in
from tests.ingest.small_concert import measured, plucks_at, sound_of, theka_at

ALAP, GAT = SectionHeld("alap", 2.0, 20.0), SectionHeld("drut gat", 24.0, 60.0, "teental", 160.0, (26.0, 60.0))


def heard(*starts_and_kinds: tuple[float, str], end_s: float = 60.0) -> list[HeardSection]:
    starts_s = [start_s for start_s, _ in starts_and_kinds]
    return [
        HeardSection(kind, start_s, until_s)
        for (start_s, kind), until_s in zip(starts_and_kinds, [*starts_s[1:], end_s], strict=True)
    ]


def test_seconds_are_counted_within_true_sections_only() -> None:
    seconds = confusion(heard((0.0, "alap"), (30.0, "drut gat")), [ALAP, GAT])
    alap, drut = (kind_names.KINDS.index(kind) for kind in ("alap", "drut gat"))
    assert seconds[alap, alap] == pytest.approx(18, abs=0.2)
    assert seconds[drut, alap] == pytest.approx(6, abs=0.2)
    assert seconds[drut, drut] == pytest.approx(30, abs=0.2)
    assert seconds.sum() == pytest.approx(54, abs=0.3)


@pytest.mark.parametrize(("at_s", "near"), [(16.5, False), (17.5, True), (22.0, True), (26.5, True), (27.5, False)])
def test_a_boundary_counts_within_three_seconds_of_the_pause(at_s: float, near: bool) -> None:
    assert _found_near(ALAP, GAT, heard((0.0, "alap"), (at_s, "drut gat"))) is near


def test_the_tables_add_up() -> None:
    seconds = tuple(tuple(float(i == j) for j in range(10)) for i in range(10))
    scores = [EveningScore(seed, 0.5 + seed / 10, 1.0, (7, 9, 10), (1, 2, 3), (0, 1), seconds) for seed in (1, 3)]
    rows = [list(column.cells) for column in evening_table(scores).columns]
    assert [column[-1] for column in rows] == [
        "all",
        "0.700",
        "1.000",
        "14 of 18, found 20",
        "2 of 4, found 6",
        "0 of 2",
    ]
    assert list(confusion_table(scores).columns[-1].cells) == ["1.00"] * 10


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    """Twelve seconds of plucks, then twelve with tabla."""
    struck = theka_at("dadra", 13.0, 24.5, 0.4)
    evidence = measured(sound_of(plucks_at(np.arange(1, 24, 0.7)), struck, 25.0))
    sections = (SectionHeld("jor", 0.5, 12.0), SectionHeld("madhya gat", 12.5, 24.5, "dadra", 150.0, (13.0, 24.4)))
    return Lesson(evidence, section_features(evidence), sections)


def test_moments_are_labelled_by_the_section_they_lie_in(lesson: Lesson) -> None:
    (jor, jor_labels), (_, gat_labels) = _moments(lesson)
    assert set(jor_labels) == {KINDS.index("jor")}
    assert set(gat_labels) == {KINDS.index("with tabla")}
    np.testing.assert_array_equal(jor[0], lesson.features.values[1])  # at 0.75 s


def test_a_copy_through_an_equaliser_changes_the_colour_and_nothing_else(lesson: Lesson) -> None:
    copies = list(_equalised(lesson, 1))
    assert len(copies) == COPIES
    for copy in copies:
        moved = np.ptp(copy.features.values - lesson.features.values, axis=0)
        np.testing.assert_allclose(moved, 0, atol=1e-9)  # by the same at every moment
        changed = ~np.isclose(copy.features.values[0], lesson.features.values[0])
        assert {name for name, each in zip(copy.features.names, changed, strict=True) if each} <= {
            f"band {band}, {span}" for band in range(10) for span in ("short", "long")
        }


def test_what_is_learnt_tells_what_it_was_learnt_on_and_reads_back() -> None:
    """Two made-up features: with tabla the first is high; in the drut the second."""
    random = np.random.default_rng(3)
    names = section_weights().features
    times = 400
    values = random.normal(size=(times, len(names)))
    labels = random.integers(0, len(KINDS), times)
    values[np.arange(times), labels] += 9
    from benchmarks.learn_sections import _fitted

    part = _fitted(values, labels, KINDS, 0.1)
    read = weights_in(
        json.loads(
            _lines(
                {"features": list(names), "kinds": part, "with_tabla": part, "pulse_change": {"weight": [0], "bias": 1}}
            )
        )
    )
    assert (read.kinds.scores(values).argmax(axis=1) == labels).mean() > 0.95
    read.check(Features(names, values))


def test_the_weights_that_ship_name_every_kind() -> None:
    weights = section_weights()
    assert weights.kinds.labels == KINDS
    assert weights.with_tabla.labels == PLAYED
    assert set(KINDS[:3] + KINDS[4:] + PLAYED) == set(kind_names.KINDS)
    assert of_stretch(np.zeros((3, len(weights.features)))).shape == weights.with_tabla.mean.shape
