"""What is proposed, when it is found again, and what is kept meanwhile."""

from __future__ import annotations

import errno
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest

from annotate import melody_store
from annotate.archive import Archive
from annotate.check.whole import check
from annotate.errors import BadAnnotation, NoSuchRecording
from annotate.marking import drop_sams, move_sam, record_tihai
from annotate.proposals import finding
from annotate.proposals import kept as store
from annotate.proposals.errors import NothingToHear
from annotate.proposals.finding import with_keys
from annotate.proposals.proposed import Proposed
from annotate.proposals.proposing import is_stale, mukhras, propose, proposed, waiting
from annotate.records import Recording
from annotate.revisions import add, change
from annotate.sections import change_section
from ingest.finding import lattice
from tests.annotate.desk import MATRA_S, SAMS_S, SLUG, make_archive
from tests.annotate.proposals.gats import FIRST_LANDING_S, LANDINGS_S, SECOND_LANDING_S
from tests.ingest.heard_melody import written_melody

NEAR_S = 0.02
"""Strokes are written to a frame of 10 ms; the grid follows them."""


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The first position of every section that is laid out to be looked at."""
    seen: list[int] = []
    lay_out = lattice.lay_out

    def counting(*arguments: Any) -> lattice.Lattice:
        seen.append(arguments[4])
        return lay_out(*arguments)

    monkeypatch.setattr(lattice, "lay_out", counting)
    return seen


def landing_at(found: list[Proposed], landing_s: float) -> Proposed:
    """The proposal that lands there."""
    (one,) = [each for each in found if abs(each.proposal.landing_s - landing_s) < NEAR_S]
    return one


def told(found: list[Proposed]) -> list[dict[str, Any]]:
    return [each.to_json() for each in found]


@pytest.mark.parametrize("landing_s", LANDINGS_S)
def test_a_tihai_is_proposed_with_its_times_its_sum_its_palla_and_why(archive: Archive, landing_s: float) -> None:
    one = landing_at(propose(archive, SLUG), landing_s)
    begin_s = landing_s - 8 * MATRA_S
    assert one.proposal.palla_s == pytest.approx([begin_s, begin_s + 3 * MATRA_S, begin_s + 6 * MATRA_S], abs=NEAR_S)
    sums = (one.proposal.start, one.proposal.palla, one.proposal.dam, one.proposal.target, one.proposal.off)
    assert sums == (9, 3, 0, 1, 0)
    assert (one.tala, one.status, one.key) == ("teental", "waiting", f"p{landing_s:.1f}")
    assert one.proposal.text == "DhaNa KatTin Dhin"
    assert "The third ends on sam" in one.proposal.reason


def test_the_likeliest_come_first_and_every_key_is_its_own(archive: Archive) -> None:
    found = propose(archive, SLUG)
    sure = [each.ranked for each in found]
    assert sure == sorted(sure, reverse=True)
    assert len({each.key for each in found}) == len(found)
    assert {f"p{landing_s:.1f}" for landing_s in LANDINGS_S} <= {each.key for each in found[:4]}


def test_of_several_that_land_in_one_tenth_of_a_second_the_later_ones_have_a_letter(archive: Archive) -> None:
    one = propose(archive, SLUG)[0].found
    keys = [each.key for each in with_keys([replace(one, key="")] * 3)]
    assert keys == [one.key, f"{one.key}b", f"{one.key}c"]


def test_what_is_found_is_kept_and_nothing_is_looked_at_again(unproposed: Archive, looked: list[int]) -> None:
    archive = unproposed
    assert proposed(archive, SLUG) is None
    assert waiting(archive, SLUG) is None
    assert is_stale(archive, SLUG)
    first = propose(archive, SLUG)
    assert len(looked) == 2
    again = Archive.open(archive.path)
    assert not is_stale(again, SLUG)
    kept = proposed(again, SLUG)
    assert kept is not None
    assert told(kept) == told(propose(again, SLUG)) == told(first)
    assert waiting(again, SLUG) == len(first)
    assert len(looked) == 2
    assert told(propose(again, SLUG, anew=True)) == told(first)
    assert len(looked) == 4


def test_a_moved_sam_has_only_its_own_section_looked_at_again(archive: Archive, looked: list[int]) -> None:
    before = propose(archive, SLUG)
    move_sam(archive, SLUG, 74.0, 74.02)
    assert is_stale(archive, SLUG)
    shares: list[float] = []
    after = propose(archive, SLUG, tell=shares.append)
    assert not is_stale(archive, SLUG)
    assert len(looked) == 1
    assert shares == [0.0, 1.0]
    assert [each for each in told(after) if each["section"] == "gat"] == [
        each for each in told(before) if each["section"] == "gat"
    ]
    assert landing_at(after, SECOND_LANDING_S).proposal.palla == 3


def test_another_finder_makes_what_was_found_stale(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    assert not is_stale(archive, SLUG)
    monkeypatch.setattr(finding, "finder_digest", lambda: "another")
    assert is_stale(archive, SLUG)


def test_a_section_that_loses_its_tala_loses_its_proposals(archive: Archive) -> None:
    propose(archive, SLUG)
    drop_sams(archive, SLUG, [sam_s for sam_s in SAMS_S if sam_s >= 50])
    change_section(archive, SLUG, "gat 2", tala="none", who="")
    assert is_stale(archive, SLUG)
    assert {each.section for each in propose(archive, SLUG)} == {"gat"}


def test_talk_with_a_tala_is_not_listened_to(archive: Archive) -> None:
    change_section(archive, SLUG, "gat 2", kind="talk", who="")
    assert {each.section for each in propose(archive, SLUG)} == {"gat"}


def test_a_melody_that_was_followed_since_makes_what_was_found_stale(archive: Archive) -> None:
    propose(archive, SLUG)
    sa_known = replace(archive.state(SLUG).recording, sa_hz=146.83)
    archive.commit(SLUG, [change(sa_known)], "test", "Sa")
    assert is_stale(archive, SLUG)
    propose(archive, SLUG)
    melody_store.save(archive.evidence_folder(SLUG), written_melody((100.0, 0.0, 0.9)))
    assert is_stale(archive, SLUG)
    assert landing_at(propose(archive, SLUG), FIRST_LANDING_S).proposal.text == "DhaNa KatTin Dhin"


def test_a_mukhra_that_is_told_holds_until_all_is_looked_at_anew(archive: Archive) -> None:
    propose(archive, SLUG, mukhra=13)
    assert mukhras(archive, SLUG) == {"gat": 13, "gat 2": 13}
    propose(archive, SLUG)
    assert not is_stale(archive, SLUG)
    assert mukhras(archive, SLUG) == {"gat": 13, "gat 2": 13}
    propose(archive, SLUG, anew=True)
    assert mukhras(archive, SLUG) == {"gat": None, "gat 2": None}  # there is no melody in which to hear one
    with pytest.raises(BadAnnotation, match="cannot begin on matra 17: the tala has 16"):
        propose(archive, SLUG, mukhra=17)


def test_what_a_person_has_written_down_is_known_and_does_not_wait(archive: Archive) -> None:
    count = len(propose(archive, SLUG))
    begin_s = FIRST_LANDING_S - 8 * MATRA_S
    written = record_tihai(
        archive, SLUG, palla_s=[begin_s, begin_s + 1.5, begin_s + 3.0], landing_s=FIRST_LANDING_S + 0.1, who="meera"
    )
    one = landing_at(propose(archive, SLUG), FIRST_LANDING_S)
    assert (one.status, one.tihai) == ("accepted", written.tihai)
    assert waiting(archive, SLUG) == count - 1
    archive.withdraw(SLUG, "tihais", written.tihai, who="meera")
    assert waiting(archive, SLUG) == count


def test_where_nothing_can_be_heard_it_is_said_what_is_missing(archive: Archive, tmp_path: Path) -> None:
    silent = make_archive(tmp_path / "other")
    with pytest.raises(NothingToHear, match="Nothing was measured of the sound of 'evening'"):
        propose(silent, SLUG)
    archive.commit("alone", [add(Recording("alone", "Alone", tala="teental", duration_s=100.0))], "test", "made")
    (tmp_path / "archive" / "recordings" / "alone").mkdir(exist_ok=True)
    for file in ("frames", "strokes", "texture", "drone", "chroma"):
        source = archive.folder(SLUG) / "evidence" / f"{file}.parquet"
        target = archive.folder("alone") / "evidence" / f"{file}.parquet"
        target.parent.mkdir(exist_ok=True)
        target.write_bytes(source.read_bytes())
    with pytest.raises(NothingToHear, match="no section with a tala in which sams are known"):
        propose(archive, "alone")
    with pytest.raises(NoSuchRecording):
        propose(archive, "morning")
    assert not store.stamp(archive.evidence_folder("alone"))


def test_evidence_that_cannot_be_read_is_said_and_what_was_found_stays(archive: Archive) -> None:
    before = propose(archive, SLUG)
    strokes = archive.folder(SLUG) / "evidence" / "strokes.parquet"
    strokes.write_bytes(strokes.read_bytes()[:1000])
    with pytest.raises(NothingToHear, match="listen-again evening"):
        propose(Archive.open(archive.path), SLUG, anew=True)
    kept = proposed(archive, SLUG)
    assert kept is not None
    assert told(kept) == told(before)


def test_a_damaged_file_counts_as_none_is_named_by_check_and_made_again(archive: Archive) -> None:
    before = propose(archive, SLUG)
    path = archive.folder(SLUG) / "evidence" / store.FILE
    path.write_bytes(path.read_bytes()[:-20])
    assert proposed(archive, SLUG) is None
    assert waiting(archive, SLUG) is None
    assert "proposals damaged" in {each.kind for each in check(archive.store)}
    assert told(propose(archive, SLUG)) == told(before)
    assert "proposals damaged" not in {each.kind for each in check(archive.store)}


def test_a_writer_that_breaks_off_leaves_what_was_there(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    before = propose(archive, SLUG)
    there = sorted(path.name for path in (archive.folder(SLUG) / "evidence").iterdir())

    def half(table: Any, out: Any, **_options: Any) -> None:
        out.write(b"half of it")
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(pq, "write_table", half)
        with pytest.raises(KeyboardInterrupt):
            propose(archive, SLUG, anew=True)
    assert sorted(path.name for path in (archive.folder(SLUG) / "evidence").iterdir()) == there
    assert told(proposed(archive, SLUG) or []) == told(before)


def test_where_nothing_can_be_written_what_is_found_is_listed_all_the_same(
    unproposed: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_arguments: Any) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(store, "save", refused)
    assert landing_at(propose(unproposed, SLUG), FIRST_LANDING_S).status == "waiting"
    assert waiting(unproposed, SLUG) is None


def test_two_processes_that_propose_at_once_and_one_that_is_killed_leave_a_whole_file(archive: Archive) -> None:
    command = [sys.executable, "-m", "tests.annotate.proposals.proposer", str(archive.path)]
    root = Path(__file__).parents[3]
    processes = [subprocess.Popen(command, cwd=root, stdout=subprocess.PIPE, text=True) for _ in range(3)]
    first = processes[0].stdout
    assert first is not None
    first.readline()  # it has found something and is about to write
    processes[0].kill()
    for process in processes:
        process.wait(timeout=120)
        assert process.stdout is not None
        process.stdout.close()
    assert [process.returncode for process in processes[1:]] == [0, 0]
    kept = proposed(archive, SLUG)
    assert kept is not None
    assert told(kept) == told(propose(archive, SLUG, anew=True))
