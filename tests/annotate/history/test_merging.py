"""Two people at the same tihai: different things are put together, the same thing is shown to a person."""

from __future__ import annotations

from dataclasses import fields, replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.errors import BadAnnotation, BadMoment, BothChanged, NoSuchRow
from annotate.history.merging import Keep, merge
from annotate.history.merging import change_merging as write
from annotate.records import Recording, TihaiRecord
from annotate.revisions import add, change
from tests.annotate.desk import SLUG, fingerprint, phrase, tihai
from theory.tihai import LandingRule

HALF = Fraction(1, 2)


def change_tihai(archive: Archive, keep: Keep = "", seen: int = 2, **told: object) -> int:
    mine = replace(tihai(), **told)  # type: ignore[arg-type]
    return write(archive, SLUG, mine, who="asha", why="mine", seen=seen, keep=keep).revision


@pytest.fixture
def theirs(archive: Archive) -> Archive:
    """bela has changed dam and label (revision 3)."""
    archive.commit(SLUG, [change(replace(tihai(), dam=HALF, label="theirs"))], "bela", "theirs")
    return archive


def test_different_things_are_put_together(theirs: Archive) -> None:
    mine = replace(tihai(), kind="damdar", landing_s=26.1)
    written = write(theirs, SLUG, mine, who="asha", why="mine", seen=2)
    assert theirs.state(SLUG).tihai("t01") == replace(mine, dam=HALF, label="theirs")
    assert (written.revision, written.merged.theirs) == (4, ("dam", "label"))
    assert (written.merged.mine, written.merged.clashing) == (("landing_s", "kind"), ())


def test_the_same_thing_is_refused_and_shows_what_it_was_theirs_and_mine(theirs: Archive) -> None:
    before = fingerprint(theirs)
    with pytest.raises(BothChanged, match=r"(?s)bela has changed tihai 't01'.*since revision 2.*revision 3") as told:
        change_tihai(theirs, label="mine", kind="damdar")
    assert fingerprint(theirs) == before
    lines = [line.split() for line in str(told.value).splitlines()]
    assert ["was", "theirs", "yours"] in lines
    assert ["label", "-", "theirs", "mine"] in lines
    assert ["dam", "1", "1/2", "1"] in lines
    assert "Both changed: label." in str(told.value)
    assert isinstance(told.value.mine, TihaiRecord)
    assert (told.value.was, told.value.mine.label) == (tihai(), "mine")


def test_keeping_mine_or_theirs_is_about_that_thing_only(theirs: Archive) -> None:
    change_tihai(theirs, "theirs", label="mine", kind="damdar")
    assert theirs.state(SLUG).tihai("t01") == replace(tihai(), dam=HALF, label="theirs", kind="damdar")
    change_tihai(theirs, "mine", label="mine", played_by="tabla")
    assert theirs.state(SLUG).tihai("t01") == replace(tihai(), dam=HALF, label="mine", kind="damdar", played_by="tabla")


def test_the_sum_on_paper_is_one_thing(theirs: Archive) -> None:
    """Their dam and my start would make a sum that neither has written."""
    with pytest.raises(BothChanged, match=r"Both changed: start, dam\."):
        change_tihai(theirs, start=Fraction(3))
    change_tihai(theirs, "mine", start=Fraction(3))
    row = theirs.state(SLUG).tihai("t01")
    assert (row.start, row.dam, row.label) == (Fraction(3), Fraction(1), "theirs")


def test_when_it_was_played_is_one_thing(archive: Archive) -> None:
    later = (18.0, 21.0, 25.9)
    archive.commit(SLUG, [change(replace(tihai(), palla_s=later))], "bela", "")
    with pytest.raises(BothChanged, match=r"Both changed: starts, landing\."):
        change_tihai(archive, landing_s=25.5)  # before the third palla as bela has it


def test_who_changed_it_to_the_same_does_not_clash(theirs: Archive) -> None:
    assert change_tihai(theirs, dam=HALF, label="theirs") == 0
    assert theirs.state(SLUG).revision == 3


def test_a_row_changed_by_nobody_else_is_simply_changed(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase())], "bela", "")
    assert change_tihai(archive, label="mine") == 4
    assert change_tihai(archive, label="mine", seen=4) == 0


def test_a_row_withdrawn_meanwhile_is_told_and_comes_back_when_asked(archive: Archive) -> None:
    archive.withdraw(SLUG, "tihais", "t01", who="bela")
    for keep in ("", "theirs"):
        with pytest.raises(BothChanged, match=r"(?s)bela.*theirs: withdrawn.*label mine"):
            change_tihai(archive, keep, label="mine")  # type: ignore[arg-type]
    change_tihai(archive, "mine", label="mine")
    assert archive.state(SLUG).tihais == (replace(tihai(), label="mine"),)


def test_what_cannot_be_true_is_refused(theirs: Archive) -> None:
    before = fingerprint(theirs)
    with pytest.raises(BadAnnotation, match="lies after the end"):
        change_tihai(theirs, landing_s=500.0)
    with pytest.raises(BadMoment, match="no revision 9"):
        change_tihai(theirs, seen=9, kind="x")
    with pytest.raises(NoSuchRow):
        change_tihai(theirs, seen=1, kind="x")
    assert fingerprint(theirs) == before


def test_a_phrase_and_the_recordings_card_are_put_together_too(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase())], "asha", "")
    recording = archive.state(SLUG).recording
    archive.commit(SLUG, [change(replace(phrase(), role="tan"))], "bela", "")
    archive.commit(SLUG, [change(replace(recording, venue="Hall"))], "bela", "")
    write(archive, SLUG, replace(phrase(), swaras="R m P n"), who="asha", why="", seen=3)
    write(archive, SLUG, replace(recording, title="The evening"), who="asha", why="", seen=3)
    state = archive.state(SLUG)
    assert state.phrases == (replace(phrase(), role="tan", swaras="R m P n"),)
    assert (state.recording.title, state.recording.venue) == ("The evening", "Hall")


def test_who_is_faster_once_more_is_put_together_as_well(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    other = Archive.open(archive.path)
    real = Archive.commit
    done = []

    def commit(self: Archive, *told: object, **more: object) -> int:
        if self is archive and not done:
            done.append(other.commit(SLUG, [change(replace(tihai(), label="theirs"))], "bela", ""))
        return real(self, *told, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Archive, "commit", commit)
    assert change_tihai(archive, kind="damdar") == 4
    assert archive.state(SLUG).tihai("t01") == replace(tihai(), label="theirs", kind="damdar")


versions = st.builds(
    replace,
    st.just(tihai()),
    label=st.sampled_from(["", "x", "y"]),
    kind=st.sampled_from(["", "damdar"]),
    dam=st.sampled_from([None, Fraction(1), HALF]),
    start=st.sampled_from([Fraction(1), Fraction(3)]),
    rule=st.sampled_from(list(LandingRule)),
    landing_s=st.sampled_from([26.0, 26.1]),
)


@given(base=versions, theirs=versions, mine=versions)
def test_every_field_of_what_is_put_together_is_that_of_whoever_changed_it(
    base: TihaiRecord, theirs: TihaiRecord, mine: TihaiRecord
) -> None:
    merged = merge(base, theirs, mine)
    swapped = merge(base, mine, theirs)
    if merged.clashing:
        assert merged.clashing == swapped.clashing
        return
    assert merged.record == swapped.record
    for name in (each.name for each in fields(TihaiRecord)):
        was, one, other = (getattr(row, name) for row in (base, theirs, mine))
        assert getattr(merged.record, name) == (other if one == was else one)


@given(base=versions, theirs=versions, mine=versions)
def test_what_both_changed_is_as_it_was_said_to_be_kept(
    base: TihaiRecord, theirs: TihaiRecord, mine: TihaiRecord
) -> None:
    kept_mine, kept_theirs = merge(base, theirs, mine, "mine"), merge(base, theirs, mine, "theirs")
    for name in kept_mine.clashing:
        assert getattr(kept_mine.record, name) == getattr(mine, name)
        assert getattr(kept_theirs.record, name) == getattr(theirs, name)
    for name in {each.name for each in fields(TihaiRecord)} - set(kept_mine.clashing):
        assert getattr(kept_mine.record, name) == getattr(kept_theirs.record, name)


def test_it_is_the_same_in_an_object_store(place: str) -> None:
    archive, other = Archive.create(place), Archive.open(place)
    archive.commit(SLUG, [add(Recording(SLUG, "Evening", duration_s=100.0)), add(tihai())], "asha", "made")
    other.commit(SLUG, [change(replace(tihai(), label="theirs"))], "bela", "")
    change_tihai(archive, seen=1, kind="damdar")
    assert other.state(SLUG).tihai("t01") == replace(tihai(), label="theirs", kind="damdar")
    with pytest.raises(BothChanged):
        change_tihai(other, seen=1, label="mine")
