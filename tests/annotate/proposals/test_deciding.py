"""Accepting and rejecting: what is written, what is refused, and that undo brings all back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.history.taking_back import redo, undo
from annotate.marking import drop_sams, mark_sams, move_sam, record_tihai
from annotate.proposals import deciding
from annotate.proposals import kept as store
from annotate.proposals.deciding import accept, accept_all, lead_of, reject, reject_all
from annotate.proposals.errors import CannotDecide, NoSuchProposal
from annotate.proposals.proposing import propose, proposed, waiting
from annotate.records import Recording
from annotate.verify import verify_recording
from tests.annotate.desk import MATRA_S, SAMS_S, SLUG, at, fingerprint
from tests.annotate.proposals.gats import FIRST_LANDING_S, SECOND_LANDING_S, make_gats
from tests.annotate.store.conftest import bucket, endpoint, place
from theory.errors import NotationError

__all__ = ["bucket", "endpoint", "place"]  # fixtures

FIRST, SECOND = f"p{FIRST_LANDING_S:.1f}", f"p{SECOND_LANDING_S:.1f}"


def told(archive: Archive) -> list[dict[str, Any]]:
    return [each.to_json() for each in proposed(archive, SLUG) or []]


def status(archive: Archive, key: str) -> tuple[str, str]:
    (one,) = [each for each in proposed(archive, SLUG) or [] if each.key == key]
    return one.status, one.tihai


def test_what_is_accepted_is_a_confirmed_tihai_that_can_be_verified(archive: Archive) -> None:
    done = accept(archive, SLUG, FIRST, "meera")
    (record,) = archive.state(SLUG).tihais
    assert done.tihai == record
    assert (record.status, record.who, record.tala, record.kind) == ("confirmed", "meera", "teental", "bedam")
    assert (record.palla, record.dam, record.start) == ("DhaNa KatTin Dhin", 0, 9)
    assert (record.rule.value, record.target, record.played_by) == ("within", 1, "tabla")
    assert record.palla_s == pytest.approx([at(2, 9), at(2, 12), at(2, 15)], abs=0.02)
    (verdict,) = verify_recording(archive, SLUG)
    assert verdict.verdict == "lands"
    assert verdict.paper is not None
    assert verdict.paper.lands
    assert status(archive, FIRST) == ("accepted", record.tihai)
    assert archive.history(SLUG)[-1].why == f"proposal accepted: {FIRST}"


def test_what_is_rejected_is_remembered_and_not_proposed_again(archive: Archive) -> None:
    count = waiting(archive, SLUG)
    assert count is not None
    done = reject(archive, SLUG, FIRST, "meera")
    assert done.tihai.status == "rejected"
    propose(archive, SLUG, anew=True)
    assert status(archive, FIRST) == ("rejected", done.tihai.tihai)
    assert waiting(archive, SLUG) == count - 1
    undo(archive, SLUG, "meera")
    assert waiting(archive, SLUG) == count
    redo(archive, SLUG, "meera")
    assert status(archive, FIRST)[0] == "rejected"


@settings(max_examples=15)
@given(data=st.data())
def test_whatever_is_decided_undo_brings_the_archive_back_as_it_was(proposed_once: Path, data: st.DataObject) -> None:
    gats = Archive.open(proposed_once)
    before, rows = told(gats), gats.state(SLUG).rows
    keys = [each["key"] for each in before]
    steps = data.draw(st.lists(st.tuples(st.sampled_from(keys), st.booleans()), min_size=1, max_size=5))
    done = 0
    for key, yes in steps:
        was, _ = status(gats, key)
        if was == "accepted" or (was == "rejected" and not yes):
            with pytest.raises(CannotDecide):
                (accept if yes else reject)(gats, SLUG, key, "meera")
        else:
            (accept if yes else reject)(gats, SLUG, key, "meera")
            assert status(gats, key)[0] == ("accepted" if yes else "rejected")
            done += 1
    for _ in range(done):
        undo(gats, SLUG, "meera")
    assert told(gats) == before
    assert gats.state(SLUG).rows == rows


def test_several_are_decided_in_one_edit_or_none_of_them(archive: Archive) -> None:
    before = fingerprint(archive)
    with pytest.raises(NoSuchProposal, match="Did you mean"):
        accept_all(archive, SLUG, [FIRST, "p66"], "meera")
    assert fingerprint(archive) == before
    done = accept_all(archive, SLUG, [FIRST, SECOND, FIRST], "meera")
    assert [each.key for each in done] == [FIRST, SECOND]
    assert [each.tihai.tihai for each in done] == [each.tihai for each in archive.state(SLUG).tihais]
    undo(archive, SLUG, "meera")
    assert archive.state(SLUG).tihais == ()


def test_a_decision_is_not_made_twice_and_a_rejected_one_can_be_taken_up(archive: Archive) -> None:
    rejected = reject_all(archive, SLUG, [FIRST], "meera")[0].tihai
    with pytest.raises(CannotDecide, match=f"rejected already, as {rejected.tihai}"):
        reject(archive, SLUG, FIRST)
    accepted = accept(archive, SLUG, FIRST, "bela").tihai
    assert (accepted.tihai, accepted.status, accepted.who) == (rejected.tihai, "confirmed", "bela")
    with pytest.raises(CannotDecide, match=f"written down already, as tihai {rejected.tihai}"):
        accept(archive, SLUG, FIRST)
    with pytest.raises(CannotDecide, match=f"layakosh change {SLUG} {rejected.tihai} status=rejected"):
        reject(archive, SLUG, FIRST)


def bela_accepts_meanwhile(archive: Archive, key: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Have somebody else accept a proposal while the next decision is being checked."""
    other = Archive.open(archive.path)
    check_tihai = deciding.check_tihai

    def meanwhile(*arguments: Any) -> Any:
        monkeypatch.setattr(deciding, "check_tihai", check_tihai)
        accept(other, SLUG, key, "bela")
        return check_tihai(*arguments)

    monkeypatch.setattr(deciding, "check_tihai", meanwhile)


def test_of_two_who_accept_the_same_at_once_one_is_told_and_it_is_written_once(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    bela_accepts_meanwhile(archive, FIRST, monkeypatch)
    with pytest.raises(CannotDecide, match="written down already"):
        accept(archive, SLUG, FIRST, "meera")
    assert [each.who for each in archive.state(SLUG).tihais] == ["bela"]


def test_of_two_who_accept_different_ones_at_once_both_are_written(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    bela_accepts_meanwhile(archive, SECOND, monkeypatch)
    accept(archive, SLUG, FIRST, "meera")
    assert sorted(each.who for each in archive.state(SLUG).tihais) == ["bela", "meera"]


def test_what_was_counted_on_another_grid_is_not_accepted(archive: Archive) -> None:
    drop_sams(archive, SLUG, [sam_s for sam_s in SAMS_S if sam_s >= 50])
    mark_sams(archive, SLUG, [at(6, 5), at(7, 5), at(8, 5), at(9, 5)])
    before = fingerprint(archive)
    with pytest.raises(CannotDecide, match=f"has changed since {SECOND} was proposed.*layakosh propose {SLUG}"):
        accept(archive, SLUG, SECOND)
    assert fingerprint(archive) == before
    assert accept(archive, SLUG, FIRST).tihai.status == "confirmed"  # the other gat is as it was


def test_a_sam_put_right_elsewhere_does_not_stand_in_the_way(archive: Archive) -> None:
    move_sam(archive, SLUG, 82.0, 82.05)
    assert accept(archive, SLUG, SECOND).tihai.status == "confirmed"


def test_a_palla_that_cannot_be_read_is_not_accepted_and_can_be_rejected(archive: Archive) -> None:
    folder = archive.evidence_folder(SLUG)
    kept = store.load(folder)
    assert kept is not None
    unreadable = tuple(replace(each, proposal=replace(each.proposal, text="Dha ?!")) for each in kept.found)
    store.save(folder, replace(kept, found=unreadable))
    before = fingerprint(archive)
    with pytest.raises(CannotDecide, match=r"cannot be written down(?s:.*)layakosh tihai evening --starts"):
        accept(archive, SLUG, FIRST)
    assert fingerprint(archive) == before
    record = reject(archive, SLUG, FIRST).tihai
    assert (record.palla, record.status, record.landing_s) == ("", "rejected", pytest.approx(FIRST_LANDING_S, abs=0.02))


def test_what_a_person_wrote_down_by_hand_is_not_rejected_by_its_proposal(archive: Archive) -> None:
    begin_s = FIRST_LANDING_S - 8 * MATRA_S
    starts_s = [begin_s, begin_s + 3 * MATRA_S, begin_s + 6 * MATRA_S]
    record_tihai(archive, SLUG, palla_s=starts_s, landing_s=FIRST_LANDING_S, who="bela")
    with pytest.raises(CannotDecide, match="written down already"):
        reject(archive, SLUG, FIRST, "meera")


def test_a_palla_that_was_put_right_takes_the_place_of_the_draft_and_the_dam_is_what_is_left(archive: Archive) -> None:
    record = accept(archive, SLUG, FIRST, "meera", palla="Dha Dha Dhin").tihai
    assert (record.palla, record.dam, record.start, record.kind) == ("Dha Dha Dhin", 0, 9, "bedam")
    before = fingerprint(archive)
    with pytest.raises(CannotDecide, match="has 4 matras, but from one palla to the next there are only 3 matras"):
        accept(archive, SLUG, SECOND, "meera", palla="Dha Dha Dhin Dhin")
    with pytest.raises(NotationError):
        accept(archive, SLUG, SECOND, "meera", palla="Dha ?!")
    assert fingerprint(archive) == before


def test_nothing_can_be_decided_before_anything_is_proposed(unproposed: Archive) -> None:
    with pytest.raises(NoSuchProposal, match="'layakosh propose evening' lists them"):
        accept(unproposed, SLUG, FIRST)


def test_who_leads_is_who_does_not_accompany() -> None:
    musicians = (("tanpura", "A"), ("Tabla", "B"), ("sarod", "C"))
    assert lead_of(Recording("r", "R", musicians=musicians)) == "sarod"
    assert lead_of(Recording("r", "R", musicians=musicians, lead="flute")) == "flute"
    assert lead_of(Recording("r", "R", musicians=musicians[:2])) == "lead"


def test_the_same_holds_wherever_the_archive_lies(place: str) -> None:
    archive = Archive.create(Path(place) if "://" not in place else place)
    make_gats(archive)
    count = len(propose(archive, SLUG))
    accept(archive, SLUG, FIRST, "meera")
    again = Archive.open(Path(place) if "://" not in place else place)
    assert (waiting(again, SLUG), status(again, FIRST)[0]) == (count - 1, "accepted")
