"""What the index says of tihais and phrases for a search: exact arithmetic, moves of the line, laya."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.records import Recording
from annotate.revisions import add, change
from annotate.search.derived import ladder_of, semitone_moves, step_moves, symbols_of
from tests.annotate.desk import SLUG, at, phrase, tihai
from theory.swaras import letters, semitones_of
from theory.tihai import LandingRule

SYMBOLS = st.builds(
    lambda low, letter, high: letter if low and high else "." * low + letter + "'" * high,
    st.integers(0, 2),
    st.sampled_from(letters()),
    st.integers(0, 2),
)


def row_of(archive: Archive, table: str) -> dict[str, object]:
    (row,) = archive.index(table).to_dict("records")
    return row


def test_a_tihai_has_its_raga_its_length_its_laya_and_its_names(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai())], "a", "")
    row = row_of(archive, "tihais")
    assert (row["raga"], row["palla_length"], row["palla_length_matras"]) == ("desh", "5/1", 5.0)
    assert row["symbols"] == "S R G m P"
    assert row["laya_matras_per_min"] == pytest.approx(120)  # a matra every half second
    assert row["kinds"].split()[0] == "damdar"


def test_the_same_sound_counted_by_either_rule_has_the_same_arithmetic(archive: Archive) -> None:
    """5 + 1 within and 4 + 2 after are one tihai: counted both ways in Courtney 1994 and on tablatheka.com."""
    within = tihai()
    after = replace(within, tihai="t02", palla="S R G m", dam=Fraction(2), rule=LandingRule.AFTER, start=Fraction(1))
    archive.commit(SLUG, [add(within), add(after)], "a", "")
    rows = archive.index("tihais")
    assert rows["after_palla"].tolist() == ["4/1", "4/1"]
    assert rows["after_dam"].tolist() == ["2/1", "2/1"]
    assert rows["paper_lands"].tolist() == [True, True]


def test_a_palla_that_closes_with_a_tihai_makes_a_chakradar_and_three_last_strokes_do_not(archive: Archive) -> None:
    bols = {"t01": "Dha Ti Ta Ka Dha Ti Dha _ Dha Ti Dha _ Dha Ti Dha", "t02": "Dha Ti Ta Dha Dha Dha"}
    archive.commit(SLUG, [add(tihai(key, palla=palla)) for key, palla in bols.items()], "a", "")
    kinds = archive.index("tihais").set_index("tihai")["kinds"]
    assert "chakradar" in kinds["t01"].split()
    assert "chakradar" not in kinds["t02"].split()


def test_a_tihai_without_a_sum_has_no_arithmetic(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai(palla="", dam=None, start=None))], "a", "")
    rows = archive.index("tihais")
    assert rows[["palla_length", "after_palla", "after_dam", "palla_length_matras"]].isna().all(axis=None)
    assert rows[["kinds", "symbols"]].values.tolist() == [["", ""]]


def test_the_raga_of_the_rows_follows_the_recording(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai()), add(phrase())], "a", "")
    archive.index("tihais")
    archive.commit(SLUG, [change(replace(archive.state(SLUG).recording, raga="bhupali"))], "a", "")
    assert row_of(archive, "tihais")["raga"] == "bhupali"
    assert row_of(archive, "phrases")["raga"] == "bhupali"


def test_a_phrase_has_its_moves_and_its_laya_and_none_outside_a_tala(archive: Archive) -> None:
    rows = [add(phrase("p01", at(2, 1), at(2, 9), "R m P S'")), add(phrase("p02", 1, 3, "S - S .N"))]
    archive.commit(SLUG, rows, "a", "")
    found = archive.index("phrases").set_index("phrase")
    assert found.loc["p01", "semitones"] == "+3 +2 +5"
    assert found.loc["p01", "steps"] == "+2 +1 +3"
    assert found.loc["p02", "semitones"] == "0 -1"
    assert found.loc["p01", "laya_matras_per_min"] == pytest.approx(120)
    assert found["laya_matras_per_min"].isna().to_dict() == {"p01": False, "p02": True}


def test_steps_are_counted_on_the_ragas_own_ladder() -> None:
    assert ladder_of("bhupali") == "SRGPD"
    assert ladder_of("of my own") == "SRGMPDN"
    assert step_moves("G P D S'", "bhupali") == "+1 +1 +1"
    assert step_moves("G P D S'", "yaman") == "+2 +1 +2"
    assert step_moves("P n D N S'", "desh") == "+2 -1 +1 +1"  # both Ni are one rung
    assert step_moves("G m P", "bhupali") is None  # no Ma there
    assert semitone_moves("Dha Ti Ta") is None


def test_a_text_that_does_not_parse_is_kept_word_by_word() -> None:
    assert symbols_of("R  m ?") == "R m ?"


@given(st.lists(SYMBOLS, min_size=1, max_size=12))
def test_moves_add_up_to_the_distance_from_first_to_last(line: list[str]) -> None:
    text = " ".join(line)
    moves = [int(move) for move in (semitone_moves(text) or "").split()]
    assert moves == [semitones_of(b) - semitones_of(a) for a, b in pairwise(line)]
    steps = [int(move) for move in (step_moves(text, "of my own") or "").split()]
    assert len(steps) == len(line) - 1
    assert all(abs(step) <= abs(move) for step, move in zip(steps, moves, strict=True))


def test_an_archive_made_before_these_columns_is_indexed_again(archive: Archive) -> None:
    import json

    import pyarrow.parquet as pq

    archive.commit(SLUG, [add(tihai())], "a", "")
    rows = archive.index("tihais")
    path = archive.path / "index" / "tihais" / "0-of-1.parquet"
    table = pq.read_table(path)
    note = json.loads(table.schema.metadata[b"layakosh"]) | {"index": 1}
    old = table.drop_columns(["raga", "kinds"]).replace_schema_metadata({b"layakosh": json.dumps(note).encode()})
    pq.write_table(old, path)
    assert list(Archive.open(archive.path).index("tihais").columns) == list(rows.columns)


def test_a_recording_without_a_raga_is_searched_all_the_same(archive: Archive) -> None:
    archive.commit("noon", [add(Recording("noon", "Noon")), add(phrase())], "a", "")
    assert archive.index("phrases")["raga"].tolist() == [""]
