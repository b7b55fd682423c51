"""Undo and redo: nothing is deleted, and nobody's work is overwritten."""

from __future__ import annotations

from dataclasses import replace

import pytest

from annotate.archive import Archive
from annotate.errors import BadAnnotation, BadMoment, CannotTakeBack, ConflictingEdit, NothingToTakeBack
from annotate.history import taking_back
from annotate.history.taking_back import RUN_S, can_redo, can_undo, redo, take_back, undo
from annotate.marking import NUDGED, mark_sams, move_sam, record_phrase
from annotate.records import MarkedSam, Recording
from annotate.revisions import add, change, withdraw
from annotate.sections import change_section, split_section
from tests.annotate.desk import SLUG, fingerprint, phrase, tihai


def label(archive: Archive) -> str:
    return archive.state(SLUG).tihai("t01").label


def test_an_undo_is_a_new_revision_that_names_what_it_takes_back(archive: Archive) -> None:
    before = fingerprint(archive)
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "asha", "label")
    done = undo(archive, SLUG, "asha")
    last = archive.history(SLUG)[-1]
    assert (done.revision, done.kind, done.step.edit.number) == (4, "undo", 3)
    assert (last.number, last.undoes, last.who, last.why) == (4, 3, "asha", "undo of revision 3: label")
    assert archive.state(SLUG).tihai("t01") == tihai()
    assert before.items() <= fingerprint(archive).items()


def test_undos_in_a_row_walk_back_and_redos_forward_again(archive: Archive) -> None:
    for name in "abc":
        archive.commit(SLUG, [change(replace(tihai(), label=name))], "asha", name)
    told = []
    for step in (undo, undo, undo, redo, redo, undo, redo, redo):
        step(archive, SLUG, "asha")
        told.append(label(archive))
    assert told == ["b", "a", "", "a", "b", "a", "b", "c"]
    with pytest.raises(NothingToTakeBack, match="left to redo"):
        redo(archive, SLUG, "asha")


def test_a_new_edit_ends_what_can_be_brought_back(archive: Archive) -> None:
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "asha", "")
    undo(archive, SLUG, "asha")
    assert can_redo(archive, SLUG, "asha") is not None
    archive.commit(SLUG, [add(phrase())], "asha", "")
    assert can_redo(archive, SLUG, "asha") is None
    with pytest.raises(NothingToTakeBack, match="A new edit ends what can be brought back"):
        redo(archive, SLUG, "asha")


def test_an_edit_of_somebody_else_does_not_end_it(archive: Archive) -> None:
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "asha", "")
    undo(archive, SLUG, "asha")
    archive.commit(SLUG, [add(phrase())], "bela", "")
    assert can_redo(archive, SLUG, None) is None
    redo(archive, SLUG, "asha")
    assert label(archive) == "x"


def test_everyone_takes_back_their_own(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase("p01"))], "bela", "")
    archive.commit(SLUG, [add(phrase("p02"))], "asha", "")
    undo(archive, SLUG, "bela")
    assert [each.phrase for each in archive.state(SLUG).phrases] == ["p02"]
    with pytest.raises(NothingToTakeBack, match=r"by bela is left to undo.*revision 4 \(asha.*--everyone"):
        undo(archive, SLUG, "bela")


def test_for_everyone_the_latest_of_anybody_goes_first(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase("p01"))], "bela", "")
    assert undo(archive, SLUG, "asha", everyone=True).step.edit.who == "bela"
    assert undo(archive, SLUG, "asha", everyone=True).step.edit.who == "asha"
    with pytest.raises(NothingToTakeBack, match=f"Nothing is left to undo in '{SLUG}'"):
        undo(archive, SLUG, "asha", everyone=True)


def test_who_wrote_an_edit_can_bring_it_back_when_somebody_else_has_undone_it(archive: Archive) -> None:
    undo(archive, SLUG, "bela", everyone=True)
    assert archive.state(SLUG).tihais == ()
    redo(archive, SLUG, "asha")
    assert archive.state(SLUG).tihais == (tihai(),)


def test_a_row_that_somebody_changed_since_is_not_overwritten(archive: Archive) -> None:
    mine, theirs = replace(tihai(), label="mine"), replace(tihai(), label="theirs")
    archive.commit(SLUG, [change(mine), add(phrase())], "asha", "label")
    archive.commit(SLUG, [change(theirs)], "bela", "")
    before = fingerprint(archive)
    with pytest.raises(
        CannotTakeBack, match=r"(?s)Revision 3 .* bela has changed tihai 't01' since \(revision 4.*theirs.*as-of 2"
    ) as told:
        undo(archive, SLUG, "asha")
    assert isinstance(told.value, ConflictingEdit)
    assert (told.value.theirs, told.value.mine, told.value.their_revision) == (theirs, tihai(), 4)
    assert fingerprint(archive) == before


def test_a_row_changed_and_changed_back_is_told_too_for_the_edits_between_build_on_it(archive: Archive) -> None:
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "asha", "")
    archive.commit(SLUG, [change(replace(tihai(), label="y"))], "bela", "")
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "bela", "")
    with pytest.raises(CannotTakeBack, match="revision 5"):
        undo(archive, SLUG, "asha")


def test_what_was_undone_since_does_not_stand_in_the_way(archive: Archive) -> None:
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "asha", "")
    archive.commit(SLUG, [change(replace(tihai(), label="y"))], "bela", "")
    undo(archive, SLUG, "bela")
    undo(archive, SLUG, "asha")
    assert label(archive) == ""


def test_a_redo_is_refused_as_well_where_somebody_changed_the_row(archive: Archive) -> None:
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "asha", "")
    undo(archive, SLUG, "asha")
    archive.commit(SLUG, [change(replace(tihai(), label="theirs"))], "bela", "")
    with pytest.raises(CannotTakeBack):
        redo(archive, SLUG, "asha")
    assert label(archive) == "theirs"


def test_a_row_comes_back_under_its_own_key_and_no_key_is_given_twice(archive: Archive) -> None:
    archive.withdraw(SLUG, "tihais", "t01", who="asha")
    undo(archive, SLUG, "asha")
    assert archive.state(SLUG).tihai("t01") == tihai()
    undo(archive, SLUG, "asha")
    assert archive.state(SLUG).tihais == ()
    assert archive.state(SLUG).next_keys("tihais", 1) == ["t02"]
    redo(archive, SLUG, "asha")
    assert archive.state(SLUG).tihai("t01") == tihai()


def test_an_undone_addition_keeps_its_key_from_the_next_row(archive: Archive) -> None:
    first = record_phrase(archive, SLUG, start_s=20.0, end_s=22.0, swaras="R m P", who="bela")
    undo(archive, SLUG, "bela")
    second = record_phrase(archive, SLUG, start_s=30.0, end_s=32.0, swaras="S R", who="bela")
    assert (first.phrase, second.phrase) == ("p01", "p02")


def test_any_revision_can_be_taken_back_out_of_turn(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase("p01"))], "bela", "")
    archive.commit(SLUG, [add(phrase("p02"))], "bela", "")
    assert take_back(archive, SLUG, 3, "asha").kind == "undo"
    assert take_back(archive, SLUG, 5, "asha").kind == "redo"
    with pytest.raises(NothingToTakeBack, match=r"already, by revision 6 .*--revision 6"):
        take_back(archive, SLUG, 5, "asha")
    with pytest.raises(BadMoment, match="has 1 to 6"):
        take_back(archive, SLUG, 7, "asha")


def test_the_taking_in_is_not_undone(archive: Archive) -> None:
    undo(archive, SLUG, "asha")
    assert can_undo(archive, SLUG, None) is None
    assert can_undo(archive, SLUG, "test") is None
    with pytest.raises(NothingToTakeBack, match="took the recording in"):
        take_back(archive, SLUG, 1, "test")


def test_an_edit_that_changed_nothing_can_be_undone_and_the_one_before_it_next(archive: Archive) -> None:
    archive.commit(SLUG, [change(tihai())], "asha", "looked")
    undo(archive, SLUG, "asha")
    undo(archive, SLUG, "asha")
    assert archive.state(SLUG).tihais == ()


def test_a_sam_does_not_come_back_without_its_section(archive: Archive) -> None:
    """bela drops a sam; asha then shortens the section, which without that mark she may."""
    archive.commit(SLUG, [withdraw("sams", "s11")], "bela", "sam dropped")
    change_section(archive, SLUG, "gat", end_s=85.0, who="asha")
    before = fingerprint(archive)
    with pytest.raises(BadAnnotation, match=r"1 marked sam of 'evening' \(1:30\) .*'gat'.*history evening"):
        undo(archive, SLUG, "bela")
    assert fingerprint(archive) == before


def test_a_section_does_not_go_from_under_a_sam_that_somebody_marked_in_it(archive: Archive) -> None:
    _, second = split_section(archive, SLUG, "gat", 60.0, who="asha")
    mark_sams(archive, SLUG, [62.0], who="bela")
    assert archive.state(SLUG).marked_sams[-5].section == second.section
    with pytest.raises(BadAnnotation, match="1 marked sam"):
        undo(archive, SLUG, "asha")


def test_a_split_is_undone_with_the_sams_that_went_over(archive: Archive) -> None:
    before = archive.state(SLUG)
    split_section(archive, SLUG, "gat", 60.0, who="asha")
    undo(archive, SLUG, "asha")
    assert archive.state(SLUG).rows == before.rows


def test_a_state_that_once_was_comes_back_though_it_was_not_sound(archive: Archive) -> None:
    archive.commit(SLUG, [add(MarkedSam("s12", "nowhere", 95.0))], "asha", "written by another program")
    archive.commit(SLUG, [withdraw("sams", "s12")], "asha", "")
    undo(archive, SLUG, "asha")
    assert archive.state(SLUG).marked_sams[-1].section == "nowhere"


def test_of_two_who_undo_the_same_at_once_one_is_told(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    archive.commit(SLUG, [change(replace(tihai(), label="x"))], "asha", "")
    other = Archive.open(archive.path)
    real = Archive.commit
    done = []

    def commit(self: Archive, *told: object, **more: object) -> int:
        if self is archive and not done:
            done.append(undo(other, SLUG, "bela", everyone=True))
        return real(self, *told, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Archive, "commit", commit)
    with pytest.raises(ConflictingEdit, match=r"bela"):
        undo(archive, SLUG, "asha")
    assert label(archive) == ""
    assert len(archive.history(SLUG)) == 4


def test_a_chain_that_names_a_revision_that_was_not_there_yet_is_an_edit(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase())], "asha", "", undoes=99)
    step = can_undo(archive, SLUG, "asha")
    assert step is not None
    assert step.edit.number == 3


def test_it_is_the_same_in_an_object_store(place: str) -> None:
    archive = Archive.create(place)
    archive.commit(SLUG, [add(Recording(SLUG, "Evening"))], "asha", "made")
    archive.commit(SLUG, [add(phrase())], "asha", "")
    undo(archive, SLUG, "asha")
    assert Archive.open(place).state(SLUG).phrases == ()
    redo(Archive.open(place), SLUG, "asha")
    assert archive.state(SLUG).phrases == (phrase(),)


def nudge(archive: Archive, times: int, who: str = "asha", by_s: float = 0.01, sam: int = 1) -> list[float]:
    """Nudge a sam so often; return where it then was, each time."""
    found = []
    for _ in range(times):
        at_s = archive.state(SLUG).marked_sams[sam].sam_s
        move_sam(archive, SLUG, at_s, round(at_s + by_s, 4), who=who, why=f"{NUDGED} from there to there")
        found.append(archive.state(SLUG).marked_sams[sam].sam_s)
    return found


def sam_s(archive: Archive, sam: int = 1) -> float:
    return archive.state(SLUG).marked_sams[sam].sam_s


def test_twenty_nudges_of_a_sam_are_undone_in_one_step_and_redone_in_one(archive: Archive) -> None:
    before, rows = fingerprint(archive), archive.state(SLUG).rows
    (*_, last_s) = nudge(archive, 20)
    done = undo(archive, SLUG, "asha")
    assert (done.kind, done.nudges) == ("undo", 20)
    (change_of_all,) = done.changes
    assert change_of_all.sentence == "sam 's02' changed: at 0:18.2 -> 0:18"
    assert archive.state(SLUG).rows == rows
    again = redo(archive, SLUG, "asha")
    assert (again.kind, again.nudges, sam_s(archive)) == ("redo", 20, last_s)
    assert can_redo(archive, SLUG, "asha") is None
    assert before.items() <= fingerprint(archive).items()
    assert len(archive.history(SLUG)) == 2 + 20 + 20 + 20  # each nudge stays in the history, and can be gone back to


def test_a_run_ends_at_another_sam_another_edit_and_a_pause(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    nudge(archive, 2)
    nudge(archive, 3, sam=4)
    record_phrase(archive, SLUG, start_s=30.0, end_s=31.0, swaras="R m P", who="asha")
    nudge(archive, 4)
    assert [undo(archive, SLUG, "asha").nudges for _ in range(4)] == [4, 1, 3, 2]
    assert (sam_s(archive), sam_s(archive, 4)) == (18.0, 42.0)
    monkeypatch.setattr(taking_back, "RUN_S", -RUN_S)  # as if each had come long after the one before
    nudge(archive, 3)
    assert undo(archive, SLUG, "asha").nudges == 1
    assert sam_s(archive) == pytest.approx(18.02)


def test_a_sam_moved_otherwise_is_a_step_of_its_own(archive: Archive) -> None:
    move_sam(archive, SLUG, 18.0, 18.1, who="asha")
    nudge(archive, 3)
    undo(archive, SLUG, "asha")
    assert sam_s(archive) == 18.1
    undo(archive, SLUG, "asha")
    assert sam_s(archive) == 18.0


def test_a_run_goes_back_no_farther_than_to_what_somebody_else_did_to_the_sam(archive: Archive) -> None:
    nudge(archive, 2)
    (theirs_s,) = nudge(archive, 1, who="bela", by_s=0.1)
    nudge(archive, 3)
    assert undo(archive, SLUG, "asha").nudges == 3
    assert sam_s(archive) == theirs_s
    with pytest.raises(CannotTakeBack, match="bela has changed"):
        undo(archive, SLUG, "asha")
    assert sam_s(archive) == theirs_s


def test_a_sam_marked_by_its_first_nudge_is_unmarked_with_the_run(archive: Archive) -> None:
    archive.commit(SLUG, [withdraw("sams", "s02")], "asha", "")
    rows = archive.state(SLUG).rows
    mark_sams(archive, SLUG, [18.01], who="asha", why=f"{NUDGED} to 0:18")
    nudge(archive, 5)
    assert undo(archive, SLUG, "asha").nudges == 6
    assert archive.state(SLUG).rows == rows
    redo(archive, SLUG, "asha")
    assert sam_s(archive) == pytest.approx(18.06)
