"""Sections changed, split and joined by hand, with their marked sams; what cannot be is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.marking import drop_sams, move_sam
from annotate.records import MarkedSam, Section
from annotate.revisions import add, change
from annotate.sections import change_section, join_section, split_section, summaries
from tests.annotate.desk import SAMS_S, SLUG, fingerprint


def test_a_section_without_tala_has_neither_avartans_nor_laya(archive: Archive) -> None:
    alap, gat = summaries(archive, SLUG)
    assert (alap.cycles, alap.laya_mpm) == (None, None)
    assert (gat.cycles, gat.laya_mpm) == (10, pytest.approx(120))


def test_a_change_is_in_the_history_and_the_section_is_a_persons(archive: Archive) -> None:
    archive.commit(SLUG, [change(Section("alap", "alap", 0.0, 10.0, source="ingest"))], "test", "made")
    change_section(archive, SLUG, "Alap", kind="jor", who="asha")
    assert archive.state(SLUG).sections[0] == Section("alap", "jor", 0.0, 10.0, source="person")
    assert (archive.history(SLUG)[-1].who, archive.history(SLUG)[-1].why) == ("asha", "section changed")


def test_a_change_that_changes_nothing_writes_nothing(archive: Archive) -> None:
    before = fingerprint(archive)
    change_section(archive, SLUG, "gat", kind="gat", tala="tintal", end_s=90.0)
    assert fingerprint(archive) == before


def test_an_overlap_is_refused_with_the_command_that_makes_room(archive: Archive) -> None:
    before = fingerprint(archive)
    with pytest.raises(BadAnnotation, match="layakosh sections evening --set alap --to 0:08"):
        change_section(archive, SLUG, "gat", start_s=8.0)
    with pytest.raises(BadAnnotation, match="layakosh sections evening --set gat --from 0:12"):
        change_section(archive, SLUG, "alap", end_s=12.0)
    with pytest.raises(BadAnnotation, match="after the end"):
        change_section(archive, SLUG, "gat", end_s=200.0)
    assert fingerprint(archive) == before


def test_sams_from_the_split_on_go_over_and_each_part_has_its_own_grid(archive: Archive) -> None:
    first, second = split_section(archive, SLUG, "gat", 42.0)
    assert (first.section, second.section, second.tala) == ("gat", "gat 2", "teental")
    assert [sam.section for sam in archive.state(SLUG).marked_sams] == ["gat"] * 4 + ["gat 2"] * 7
    assert [grid.section for grid in archive.grid(SLUG).sections] == ["gat", "gat 2"]


def test_a_name_that_was_once_given_is_not_given_again(archive: Archive) -> None:
    split_section(archive, SLUG, "gat", 42.0)
    join_section(archive, SLUG, "gat")
    _, second = split_section(archive, SLUG, "gat", 42.0)
    assert second.section == "gat 3"


def test_joined_cycle_numbers_are_counted_on(archive: Archive) -> None:
    split_section(archive, SLUG, "gat", 42.0)
    marks = archive.state(SLUG).marked_sams
    numbers = [1, 2, 3, 4, 1, 2, 3, None, 5, 6, 7]
    numbered = [change(replace(sam, cycle=number)) for sam, number in zip(marks, numbers, strict=True)]
    archive.commit(SLUG, numbered, "test", "numbered")
    join_section(archive, SLUG, "gat")
    joined = archive.state(SLUG).marked_sams
    assert [sam.cycle for sam in joined] == [1, 2, 3, 4, 5, 6, 7, None, 9, 10, 11]
    assert {sam.section for sam in joined} == {"gat"}


def test_a_sam_marked_on_both_sides_of_the_seam_is_kept_once(archive: Archive) -> None:
    split_section(archive, SLUG, "gat", 42.0)
    archive.commit(SLUG, [add(MarkedSam("s20", "gat", 42.05))], "test", "closing sam")
    join_section(archive, SLUG, "gat")
    assert len(archive.state(SLUG).marked_sams) == len(SAMS_S)


def test_a_numbered_sam_that_goes_to_another_section_loses_its_number(archive: Archive) -> None:
    split_section(archive, SLUG, "gat", 60.0)
    archive.commit(SLUG, [change(MarkedSam("s06", "gat", SAMS_S[5], 6))], "test", "numbered")
    move_sam(archive, SLUG, SAMS_S[5], 62.0)
    assert next(sam for sam in archive.state(SLUG).marked_sams if sam.sam == "s06") == MarkedSam("s06", "gat 2", 62.0)


def test_a_dropped_sam_stays_in_the_history(archive: Archive) -> None:
    drop_sams(archive, SLUG, [26.1], who="asha")
    assert len(archive.state(SLUG).marked_sams) == len(SAMS_S) - 1
    assert (archive.history(SLUG)[-1].edits[0].action, archive.history(SLUG)[-1].edits[0].key) == ("withdraw", "s03")
