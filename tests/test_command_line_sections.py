"""Sections, doubts, and moving and dropping sams, as a musician uses them from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.test_command_line import Desk, at
from tests.test_command_line import desk as desk  # the fixture: six avartans of teental, sams marked at 10, 18 ... 58 s


def sections_of(desk: Desk, *arguments: str) -> dict[str, tuple[object, ...]]:
    """Kind, tala, start and end of each section, after a command on them."""
    rows = desk.json("sections", "evening", *arguments)
    return {row["section"]: (row["kind"], row["tala"], row["start_s"], row["end_s"]) for row in rows}


def marks_of(desk: Desk) -> list[float]:
    from annotate.archive import Archive

    return [sam.sam_s for sam in Archive.open(desk.archive).state("evening").marked_sams]


def test_sections_lists_limits_tala_avartans_and_mean_laya(desk: Desk) -> None:
    (row,) = desk.json("sections", "evening")
    laya = row.pop("laya_mpm")
    assert row == {
        "section": "gat", "kind": "gat", "tala": "teental", "start_s": 5, "end_s": 70, "source": "person", "cycles": 7,
    }  # fmt: skip
    assert laya == pytest.approx(120)
    assert "120.0" in desk.run("sections", "evening").stdout


def test_set_changes_kind_and_limits(desk: Desk) -> None:
    changed = sections_of(desk, "--set", "gat", "--kind", "jhala", "--from", "0:08", "--to", "1:05")
    assert changed == {"gat": ("jhala", "teental", 8, 65)}
    assert sections_of(desk) == changed


def test_limits_that_leave_sams_outside_are_refused_with_the_command_that_helps(desk: Desk) -> None:
    said = desk.refuses("sections", "evening", "--set", "gat", "--from", "20")
    assert "2 marked sams would lie outside 'gat'" in said
    assert "layakosh sam evening drop 0:10 0:18" in said
    assert desk.run("sam", "evening", "drop", "0:10", "0:18").exit_code == 0
    assert sections_of(desk, "--set", "gat", "--from", "20")["gat"][2] == 20


def test_a_section_with_sams_keeps_its_tala(desk: Desk) -> None:
    assert "which would have no tala" in desk.refuses("sections", "evening", "--set", "gat", "--tala", "none")
    assert "eental" in desk.refuses("sections", "evening", "--set", "gat", "--tala", "tintaal16")


def test_split_and_join_give_back_what_there_was(desk: Desk) -> None:
    before = marks_of(desk)
    parts = sections_of(desk, "--split", "gat", "--at", "34", "--kind", "jhala")
    assert parts == {"gat": ("gat", "teental", 5, 34), "jhala": ("jhala", "teental", 34, 70)}
    assert sections_of(desk, "--join", "gat") == {"gat": ("gat", "teental", 5, 70)}
    assert marks_of(desk) == before


def test_sections_may_be_split_where_no_sam_is_marked_and_the_rest_loses_its_tala(desk: Desk) -> None:
    parts = sections_of(desk, "--split", "gat", "--at", "60", "--kind", "talk", "--tala", "none")
    assert parts["talk"] == ("talk", "", 60, 70)
    assert "no tala" in desk.refuses("sections", "evening", "--join", "gat")


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["--set", "gat"], "what to change"),
        (["--set", "gat", "--at", "30"], "--at goes with --split NAME"),
        (["--kind", "jor"], "--kind goes with --set or --split NAME"),
        (["--split", "gat"], "wants --at"),
        (["--split", "gat", "--at", "90"], "Give a time inside it"),
        (["--join", "gat"], "No section follows 'gat'"),
        (["--join", "gat", "--set", "gat"], "do not go together"),
        (["--set", "jor", "--kind", "alap"], "no section 'jor'. It has gat"),
        (["--set", "gat", "--to", "3"], "not after its start"),
    ],
)
def test_a_bad_edit_of_sections_says_what_to_do(desk: Desk, arguments: list[str], why: str) -> None:
    assert why in " ".join(desk.refuses("sections", "evening", *arguments).split())


def test_doubts_names_the_sam_that_no_mark_holds(desk: Desk) -> None:
    (doubt,) = desk.json("doubts", "evening")
    assert (doubt["sam_s"], doubt["cycle"], doubt["run"]) == (pytest.approx(at(8, 1)), 8, 1)
    assert doubt["listen_s"] == pytest.approx(at(7, 13))
    assert "no stroke" in doubt["why"]
    assert "1:06" in desk.run("doubts", "evening").stdout


def test_where_every_sam_is_marked_there_is_no_doubt(desk: Desk) -> None:
    desk.run("sam", "evening", f"{at(8, 1)}")
    assert desk.json("doubts", "evening") == []
    assert "in doubt" in desk.run("doubts", "evening").stdout


def test_a_section_without_sams_is_named_among_the_doubts(desk: Desk) -> None:
    desk.run("sam", "evening", "drop", *(f"{at(cycle, 1)}" for cycle in range(1, 8)))
    assert "No sams are known in 'gat' (0:05 to 1:10): mark two or more." in desk.run("doubts", "evening").stdout


def test_a_marked_sam_is_moved(desk: Desk) -> None:
    rows = desk.json("sam", "evening", "move", "0:26", "0:27.5")
    assert [row["sam_s"] for row in rows][:4] == [10, 18, 27.5, 34]


def test_marked_sams_are_dropped(desk: Desk) -> None:
    desk.json("sam", "evening", "drop", "50", "58")
    assert marks_of(desk) == [10, 18, 26, 34, 42]


def test_a_tracked_sam_cannot_be_dropped_or_moved(desk: Desk) -> None:
    assert "is tracked" in desk.refuses("sam", "evening", "drop", "66")
    said = desk.refuses("sam", "evening", "move", "66", "1:07")
    assert "layakosh sam evening 1:07" in said


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["move", "26"], "wants two times"),
        (["drop"], "at least one"),
        (["26", "drop"], "stand before the times"),
        (["drop", "30"], "No sam is marked at 0:30. The nearest is at 0:"),
        (["drop", "26", "26.1"], "name the sam marked near 0:26"),
        (["move", "26", "34"], "marked at 0:34 already"),
        (["move", "26", "40"], "would pass the one at 0:34"),
        (["move", "26", "2"], "in no section"),
        (["shift", "26"], "'shift' is not a time"),
    ],
)
def test_a_bad_move_or_drop_says_what_to_do(desk: Desk, arguments: list[str], why: str) -> None:
    assert why in " ".join(desk.refuses("sam", "evening", *arguments).split())


def test_an_archive_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "archive")
    desk.refuses("sections", "evening")
    desk.refuses("doubts", "evening")
    assert not desk.archive.exists()


def test_the_help_offers_every_kind_that_ingest_hears_and_other_words_are_kept(desk: Desk) -> None:
    from ingest.kind_names import KINDS

    said = " ".join(desk.run("sections", "--help").stdout.split())
    assert all(kind in said for kind in KINDS)
    assert all(kind in desk.refuses("sections", "evening", "--set", "gat", "--kind", " ") for kind in KINDS)
    for kind in (*KINDS, "Sawal-jawab of both"):
        assert sections_of(desk, "--set", "gat", "--kind", kind)["gat"][0] == kind
