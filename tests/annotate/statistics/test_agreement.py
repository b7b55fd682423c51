"""Agreement of two annotators: checked against mir_eval, scikit-learn and a published example."""

from __future__ import annotations

import contextlib
import json
import warnings
from pathlib import Path

import mir_eval
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.metrics import cohen_kappa_score

from annotate.archive import Archive
from annotate.errors import BadAnnotation, BadTable
from annotate.records import PhraseRecord, Section
from annotate.revisions import add, change
from annotate.statistics.agreement import Marks, agreement, labels_at_every_moment
from annotate.statistics.annotators import marks_by, marks_in_file, marks_of
from annotate.statistics.kappa import confusion, kappa, kappa_interval
from annotate.statistics.matching import pairs_within
from annotate.tables_in import load
from tests.annotate.desk import SLUG, tihai
from theory.errors import UnknownName

PUBLISHED = Path(__file__).parents[2] / "data" / "puriya_sitar_concert"
TIMES = st.lists(st.floats(0, 30).map(lambda value: round(value, 2)), min_size=1, max_size=12)
LABELS = st.lists(st.sampled_from("abc"), min_size=2, max_size=30)


def marks(who: str, rows: list[tuple[float, float, str]]) -> Marks:
    return Marks(who, pd.DataFrame(rows, columns=["start_s", "end_s", "label"]))


def test_kappa_of_a_published_example() -> None:
    """Two doctors, twenty patients: both yes 12, both no 2, 2 and 4 unlike; 0.7 observed, 0.62 expected, kappa 0.21.

    Source: easycalculation.com, "Learn Cohen's kappa index" (its own figures, rounded there).
    """
    assert float(kappa(np.array([[12.0, 2], [4, 2]]))) == pytest.approx(0.08 / 0.38, abs=1e-12)  # float rounding


@given(LABELS, st.data())
def test_kappa_is_that_of_scikit_learn(first: list[str], data: st.DataObject) -> None:
    second = data.draw(st.lists(st.sampled_from("abc"), min_size=len(first), max_size=len(first)))
    weights = data.draw(st.lists(st.integers(1, 9).map(float), min_size=len(first), max_size=len(first)))
    table = confusion(pd.Series(first), pd.Series(second), np.array(weights)).to_numpy()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # scikit-learn warns where kappa cannot be told, and says NaN
        expected = cohen_kappa_score(first, second, sample_weight=weights)
    found = float(kappa(table))
    assert (np.isnan(found) and np.isnan(expected)) or found == pytest.approx(expected, abs=1e-9)  # float rounding


def test_the_interval_of_kappa_is_that_of_drawing_the_things_again() -> None:
    table = np.array([[30.0, 6], [4, 20]])
    low, high = kappa_interval(table, seed=1, resamples=3000, confidence=0.95)
    labels = [(a, b) for a in (0, 1) for b in (0, 1) for _ in range(int(table[a, b]))]
    random = np.random.RandomState(5)
    drawn = []
    for _ in range(1000):
        again = np.array(labels)[random.randint(0, len(labels), len(labels))]
        drawn.append(cohen_kappa_score(again[:, 0], again[:, 1]))
    expected = np.quantile(drawn, [0.025, 0.975])
    np.testing.assert_allclose([low, high], expected, rtol=0, atol=0.04)  # a percentile of 1000 scatters by 0.01


@given(TIMES, TIMES, st.sampled_from([0.05, 0.5, 3.0]))
def test_as_many_starts_are_paired_as_mir_eval_pairs(first: list[float], second: list[float], window_s: float) -> None:
    one, other = np.array(first), np.array(second)
    here, there = pairs_within(one, other, window_s)
    assert len(here) == len(mir_eval.util.match_events(np.sort(one), np.sort(other), window_s))
    assert len(set(here.tolist())) == len(set(there.tolist())) == len(here)
    assert (np.abs(one[here] - other[there]) <= window_s).all()


@given(st.lists(st.integers(0, 20), max_size=5), st.lists(st.integers(0, 20), max_size=5))
def test_of_all_largest_pairings_the_nearest_is_taken(first: list[int], second: list[int]) -> None:
    from itertools import combinations, permutations

    here, there = pairs_within(np.array(first, float), np.array(second, float), 4.0)
    best = (0, 0.0)
    for size in range(min(len(first), len(second)) + 1):
        for ones in combinations(first, size):
            for others in permutations(second, size):
                apart = [abs(a - b) for a, b in zip(ones, others, strict=True)]
                if all(each <= 4 for each in apart):
                    best = max(best, (size, -float(sum(apart))))
    assert (len(here), -sum(abs(first[a] - second[b]) for a, b in zip(here, there, strict=True))) == best


def test_boundaries_agree_as_mir_eval_says_on_a_published_concert() -> None:
    """The expert's sections of the Puriya concert (tests/data), against the same moved as another person might."""
    sections = pd.read_csv(PUBLISHED / "sections.csv")
    moved = sections.assign(start_s=sections["start_s"] + 0.3, end_s=sections["end_s"] - 0.8)
    found = agreement(Marks("a", sections), Marks("b", moved), 0.5)
    limits = [np.unique(each[["start_s", "end_s"]].to_numpy()) for each in (sections, moved)]
    intervals = [np.column_stack([each[:-1], each[1:]]) for each in limits]
    _, _, expected = mir_eval.segment.detection(*intervals, window=0.5)
    assert found.boundaries_by_both == pytest.approx(expected)
    assert found.pairs == len(sections)
    assert found.start_off_ms == pytest.approx(300)
    assert found.end_off_ms == pytest.approx(-800)


def test_the_expert_agrees_with_himself() -> None:
    events = marks_in_file(PUBLISHED / "events.csv")
    found = agreement(events, events)
    assert (found.found_by_both, found.kappa, found.start_apart_ms) == (1, 1, 0)
    assert found.kappa_of_moments == pytest.approx(1, abs=1e-9)  # seconds are floats
    assert found.labels["pairs"].sum() == len(events.rows)


@settings(max_examples=30)
@given(st.lists(st.tuples(st.integers(0, 9), st.integers(1, 4), st.sampled_from("ab")), min_size=1, max_size=5))
def test_the_labels_of_every_moment_are_those_of_looking_ten_times_a_second(
    drawn: list[tuple[int, int, str]],
) -> None:
    rows = marks("a", [(float(start), float(start + length), label) for start, length, label in drawn]).rows
    other = marks("b", [(2.0, 5.0, "a")]).rows
    moments = labels_at_every_moment(rows, other, 14.0)
    assert moments["length_s"].sum() == pytest.approx(14)
    in_order = rows.sort_values("start_s", kind="stable")
    for time_s in np.arange(0.05, 14, 0.1):
        inside = in_order[(in_order["start_s"] <= time_s) & (in_order["end_s"] > time_s)]
        ended = moments[moments["start_s"] <= time_s].iloc[-1]
        assert ended["label_a"] == ("(nothing)" if inside.empty else inside.iloc[-1]["label"])
        assert (ended["label_b"] == "a") == (2 <= time_s < 5)


def test_who_wrote_a_row_tells_annotators_apart(archive: Archive) -> None:
    rows = [
        PhraseRecord("p01", 10.0, 12.0, "R m P", "mukhra", "Asha"),
        PhraseRecord("p02", 20.0, 22.0, "R m P", "sthayi", "Asha"),
        PhraseRecord("p03", 10.1, 12.3, "R m P", "mukhra", "Devkant"),
        PhraseRecord("p04", 20.2, 22.3, "R P", "mukhra", "Devkant"),
        PhraseRecord("p05", 30.0, 32.0, "R P", "mukhra", "Devkant"),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "a", "")
    found = agreement(*marks_by(archive, SLUG, ["asha", "Devkant"], "phrases"))
    assert (found.a, found.marks_a, found.marks_b, found.pairs) == ("asha", 2, 3, 2)
    assert found.found_by_both == pytest.approx(4 / 5)
    assert found.start_off_ms == pytest.approx(150)
    assert found.start_apart_95_ms == pytest.approx(195)
    assert found.labels_alike == 0.5
    assert "only 2 things" in found.note
    assert agreement(*marks_by(archive, SLUG, ["Asha", "Devkant"], "phrases", "swaras")).labels_alike == 0.5
    assert json.loads(json.dumps(found.to_json()))["kappa"] == 0.0
    with pytest.raises(UnknownName, match="There are Asha, Devkant"):
        marks_by(archive, SLUG, ["Asha", "Nobody"], "phrases")


def test_sections_are_compared_as_each_person_left_them(archive: Archive) -> None:
    archive.commit(SLUG, [change(Section("alap", "alap", 0.0, 12.0))], "Asha", "")
    archive.commit(SLUG, [change(Section("alap", "jor", 0.0, 10.5))], "Devkant", "")
    found = agreement(*marks_by(archive, SLUG, ["Asha", "Devkant"], "sections"), end_s=100)
    assert (found.pairs, found.labels_alike) == (2, 0.5)
    assert found.end_off_ms == pytest.approx(-750)  # median of -1500 and 0
    with pytest.raises(UnknownName):
        marks_by(archive, SLUG, ["Asha", "Nobody"], "sections")


def test_two_recordings_are_compared_by_all_that_is_marked(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai("t01", kind="damdar")), add(tihai("t02", cycle=4, status="rejected"))], "a", "")
    load(archive, "again", sections=PUBLISHED / "sections.csv", tihais=PUBLISHED / "events.csv")
    assert len(marks_of(archive, SLUG, "tihais").rows) == 1
    assert marks_of(archive, SLUG, "tihais", "swaras").rows["label"].tolist() == ["S R G m P"]
    with pytest.raises(BadAnnotation, match="marked nothing"):
        agreement(marks_of(archive, SLUG, "tihais"), marks_of(archive, SLUG, "phrases"))


def test_files_with_tabs_and_jams_files_are_read(tmp_path: Path) -> None:
    tabs = tmp_path / "a.tsv"
    tabs.write_text("# by ear\n0.0\t1.5\talap\n1.5\t9\tgat in teental\n")
    assert marks_in_file(tabs).rows.values.tolist() == [[0.0, 1.5, "alap"], [1.5, 9.0, "gat in teental"]]
    one, other = (
        {
            "namespace": "segment_open",
            "annotation_metadata": {"annotator": {"name": name} if name == "Asha" else {}, "curator": {"name": name}},
            "data": [{"time": time_s, "duration": 2.0, "value": "alap", "confidence": 1.0}],
        }
        for name, time_s in (("Asha", 1.0), ("Devkant", 1.25))
    )
    jams = tmp_path / "two.jams"
    jams.write_text(json.dumps({"annotations": [one, other], "file_metadata": {}, "sandbox": {}}))
    assert marks_in_file(jams, "devkant").rows.values.tolist() == [[1.25, 3.25, "alap"]]
    with pytest.raises(BadTable, match="Asha, Devkant"):
        marks_in_file(jams)
    jams.write_text(json.dumps({"annotations": [one]}))
    assert marks_in_file(jams).rows.values.tolist() == [[1.0, 3.0, "alap"]]


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("a.tsv", "0.0 1.0 alap\n", "row 1: Expected start, end and label"),
        ("a.tsv", "0.0\tlater\talap\n", "row 1, column end"),
        ("a.tsv", "3\t1\talap\n", "row 1, column end: 1 comes before the start, 3"),
        ("a.tsv", "nan\t1\talap\n", "row 1, column start: 'nan' is not a time"),
        ("a.csv", "start_s,end_s,label\n3,1,alap\n", "expected 0 <= start <= end"),
        ("a.tsv", "", "nothing to compare"),
        ("a.csv", "start_s,end_s\n1,2\n", "'label'"),
        ("a.csv", "start_s,end_s,label\n1,x,alap\n", "row 2, column end_s"),
        ("a.jams", "{", "not JAMS"),
        ("a.jams", "[]", "not JAMS"),
        ("a.jams", '{"annotations": [{"data": [1]}]}', "list of observations"),
        ("a.jams", '{"annotations": [{"data": [{"time": 1}]}]}', "no time and duration"),
    ],
)
def test_a_file_that_cannot_be_read_is_named_with_the_place(tmp_path: Path, name: str, content: str, says: str) -> None:
    path = tmp_path / name
    path.write_text(content)
    with pytest.raises((BadTable, BadAnnotation), match=says):
        marks_in_file(path)


@given(st.binary(max_size=60) | st.recursive(
    st.none() | st.text(max_size=4) | st.floats(), lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(["annotations", "data", "time", "duration", "annotation_metadata", "annotator"]), inner
    ), max_leaves=8,
).map(lambda value: json.dumps(value).encode()), st.sampled_from(["x.jams", "x.tsv", "x.csv"]))  # fmt: skip
def test_whatever_a_file_holds_the_answer_is_marks_or_a_message(
    tmp_path_factory: pytest.TempPathFactory, content: bytes, name: str
) -> None:
    path = tmp_path_factory.mktemp("any") / name
    path.write_bytes(content)
    with contextlib.suppress(BadTable, BadAnnotation):
        assert not marks_in_file(path).rows.empty


def test_a_tolerance_must_be_above_nothing() -> None:
    one = marks("a", [(0, 1, "x")])
    with pytest.raises(BadAnnotation, match="above 0"):
        agreement(one, one, 0.0)


def test_people_who_mark_different_things_agree_on_nothing() -> None:
    found = agreement(marks("a", [(0, 1, "x")]), marks("b", [(50, 51, "x")]))
    assert (found.pairs, found.found_by_both) == (0, 0)
    assert np.isnan([found.kappa, found.labels_alike, found.start_off_ms]).all()
    assert found.kappa_of_moments < 0
