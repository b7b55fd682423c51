"""History on the command line: who changed what, back and forth, and two people at the same tihai."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from annotate.history import as_of as as_of_module
from annotate.records import Recording
from annotate.revisions import add, change
from annotate.schema import ANNOTATION_TABLES
from commands.history import TABLES
from layakosh import main
from tests.annotate.desk import SLUG, fingerprint, make_archive, phrase, tihai


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """Revision 2: a tihai by asha; revision 3: its label by bela."""
    archive = make_archive(tmp_path)
    archive.commit(SLUG, [add(tihai())], "asha", "tihai written down")
    archive.commit(SLUG, [change(replace(tihai(), label="theirs"))], "bela", "label changed")
    monkeypatch.setenv("LAYAKOSH_ARCHIVE", str(archive.path))
    monkeypatch.setenv("LAYAKOSH_WHO", "asha")
    return archive


def run(*told: str) -> Result:
    return CliRunner().invoke(main, told)


def printed(*told: str) -> object:
    said = run(*told, "--json")
    assert said.exit_code == 0, said.output
    return json.loads(said.output)


def refused(archive: Archive, *told: str) -> str:
    """Run a command that is refused: exit code 2, no traceback, nothing changed; return what it says."""
    before = fingerprint(archive)
    said = run(*told)
    assert said.exit_code == 2, said.output
    assert "Traceback" not in said.output
    assert fingerprint(archive) == before
    return said.output


def test_the_history_of_a_row_is_told_latest_first(archive: Archive) -> None:
    lines = run("history", SLUG, "t01").output.splitlines()
    assert lines[0].startswith("Revision 3 (bela, 20")
    assert lines[0].endswith(": label changed)")
    assert lines[1] == "  tihai 't01' changed: label - -> theirs"
    assert lines[2].startswith("Revision 2 (asha")
    assert len(lines) == 4


def test_the_history_of_a_recording_says_when_more_is_to_be_had(archive: Archive) -> None:
    said = run("history", SLUG, "--most", "2").output
    assert "Revision 2" in said
    assert "Revision 1" not in said
    assert "There are earlier ones: --most 0 shows all." in said
    assert "and 2 more rows" in run("history", SLUG, "--most", "0").output  # the taking in has 14


def test_the_history_as_json(archive: Archive) -> None:
    run("undo", SLUG, "--everyone")
    last = printed("history", SLUG, "--most", "1")
    assert isinstance(last, list)
    assert {name: last[0][name] for name in ("revision", "who", "kind", "undoes", "taken_back_by")} == {
        "revision": 4,
        "who": "asha",
        "kind": "undo",
        "undoes": 3,
        "taken_back_by": None,
    }
    assert last[0]["rows"] == [
        {"row": "tihai", "key": "t01", "action": "changed", "before": {"label": "theirs"}, "after": {"label": ""}}
    ]


def test_a_table_in_which_nothing_was_written_says_so(archive: Archive) -> None:
    assert "Nothing was ever written in the phrases" in run("history", SLUG, "--table", "phrases").output


def test_the_tables_that_can_be_named_are_those_there_are() -> None:
    assert TABLES == ANNOTATION_TABLES


def test_undo_and_redo_go_back_and_forth(archive: Archive) -> None:
    run("phrase", SLUG, "--from", "20", "--to", "22", "--swaras", "R m P")
    said = run("undo", SLUG)
    assert said.exit_code == 0
    assert "Took back revision 4 (asha, 20" in said.output
    assert "phrase 'p01' withdrawn: from 0:20; to 0:22; swaras R m P" in said.output
    assert archive.state(SLUG).phrases == ()
    assert "Brought back revision 4" in run("redo", SLUG).output
    assert len(archive.state(SLUG).phrases) == 1
    done = printed("undo", SLUG)
    assert isinstance(done, dict)
    assert (done["revision"], done["kind"], done["takes_back"], done["edit"]) == (7, "undo", 6, 4)


def test_an_undo_that_would_overwrite_somebody_is_refused_and_shows_both(archive: Archive) -> None:
    said = refused(archive, "undo", SLUG)
    assert "Revision 2 of 'evening' cannot be taken back: bela has changed tihai 't01' since (revision 3" in said
    assert "as it would be: withdrawn" in said
    assert f"layakosh as-of 1 {SLUG} --row t01" in said


def test_nothing_to_undo_says_whose_edit_was_the_last(archive: Archive) -> None:
    said = refused(archive, "undo", SLUG, "--who", "chandra")
    assert "Nothing by chandra is left to undo in 'evening'" in said
    assert "revision 3 (bela" in said
    assert f"layakosh undo {SLUG} --everyone" in said
    assert "A new edit ends" in refused(archive, "redo", SLUG)


def test_a_revision_is_taken_back_by_its_number(archive: Archive) -> None:
    assert run("undo", SLUG, "--revision", "3").exit_code == 0
    assert archive.state(SLUG).tihai("t01") == tihai()
    assert "has been taken back already, by revision 4" in refused(archive, "undo", SLUG, "--revision", "3")
    assert "do not go together" in refused(archive, "undo", SLUG, "--revision", "3", "--everyone")
    assert "took the recording in" in refused(archive, "undo", SLUG, "--revision", "1")


def test_two_states_are_compared(archive: Archive) -> None:
    said = run("compare", SLUG, "2").output.splitlines()
    assert said[0] == f"{SLUG}, from revision 2 to now (revision 3):"
    assert said[1:] == ["  tihai 't01' changed: label - -> theirs"]
    assert run("compare", SLUG, "3", "3").output.splitlines()[1:] == ["  nothing"]
    found = printed("compare", SLUG, "1", "2", "--row", "t01")
    assert isinstance(found, dict)
    assert (found["first"], found["second"], found["rows"][0]["action"]) == (1, 2, "added")


def test_as_of_shows_first_and_writes_with_yes(archive: Archive) -> None:
    before = fingerprint(archive)
    said = run("as-of", "2", SLUG).output
    assert "evening as of revision 2: 1 row would change." in said
    assert "tihai 't01' changed: label theirs -> -" in said
    assert "Nothing is written yet. Give --yes to write it." in said
    assert fingerprint(archive) == before
    assert "Written as revision 4." in run("as-of", "2", SLUG, "--yes").output
    assert archive.state(SLUG).tihai("t01") == tihai()
    assert "it is so now" in run("as-of", "2", SLUG, "--yes").output


def test_as_of_brings_back_one_row(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase())], "bela", "")
    done = printed("as-of", "1", SLUG, "--row", "t01", "--yes")
    assert isinstance(done, list)
    assert (done[0]["written"], done[0]["as_of_revision"]) == (5, 1)
    assert archive.state(SLUG).tihais == ()
    assert archive.state(SLUG).phrases == (phrase(),)


def test_as_of_a_day_for_every_recording(archive: Archive) -> None:
    assert "No recording has changed since." in run("as-of", "2999-01-01", "--all").output
    said = run("as-of", "2001-01-01", "--all").output
    assert f"Not in the archive then, left as they are: {SLUG}." in said
    assert "not in the archive yet at 2001-01-01" in refused(archive, "as-of", "2001-01-01", SLUG)


def test_a_recording_that_somebody_changes_at_that_moment_is_named_and_the_others_are_written(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    for slug in ("dawn", "noon", "night"):
        archive.commit(slug, [add(Recording(slug, slug))], "asha", "")
    monkeypatch.setattr(as_of_module, "revision_at", lambda ledger, _point: 1 if ledger.slug != SLUG else 3)
    for slug in ("dawn", "noon", "night"):
        archive.commit(slug, [add(phrase())], "asha", "")
    real = Archive.commit

    def commit(self: Archive, slug: str, *told: object, **more: object) -> int:
        if slug != "noon":
            real(archive, slug, [change(replace(phrase(), role="tan"))], "bela", "")
        return real(self, slug, *told, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Archive, "commit", commit)
    said = run("as-of", (datetime.now(UTC) - timedelta(minutes=1)).isoformat(), "--all", "--yes")
    assert said.exit_code == 2
    assert "noon as of revision 1" in said.output
    assert "Written as revision 3." in said.output
    assert "Somebody changed dawn, night at this moment; they were not written." in said.output
    assert (len(archive.state("noon").phrases), len(archive.state("dawn").phrases)) == (0, 1)


def test_a_point_in_history_that_cannot_be_read_is_told(archive: Archive) -> None:
    assert "month must be in 1..12" in refused(archive, "as-of", "2026-13-01", SLUG)
    assert "is no point in a history" in refused(archive, "compare", SLUG, "yesterday")
    assert "has no revision 77; its latest is 3" in refused(archive, "compare", SLUG, "77")
    assert "Name one recording, or give --all" in refused(archive, "as-of", "2026-01-01")
    assert "--all goes with a day" in refused(archive, "as-of", "12", "--all")
    assert "no recording 'evenin'" in refused(archive, "history", "evenin")
    assert "has no row 't77'" in refused(archive, "history", SLUG, "t77")


def test_a_row_is_shown_with_the_revision_to_stand_on(archive: Archive) -> None:
    said = run("change", SLUG, "t01").output
    assert f"t01 of {SLUG} as of revision 3" in said
    assert "  dam: 1\n" in said
    assert f"layakosh change {SLUG} t01 FIELD=VALUE --seen 3" in said
    shown = printed("change", SLUG, "t01", "--seen", "2")
    assert isinstance(shown, dict)
    assert (shown["seen"], shown["fields"]["label"], shown["fields"]["dam"]) == (2, "", "1/1")


def test_different_fields_of_two_people_are_put_together(archive: Archive) -> None:
    said = run("change", SLUG, "t01", "dam=1/2", "--seen", "2")
    assert said.exit_code == 0, said.output
    assert "t01 changed (revision 4): dam." in said.output
    assert "Put together with what somebody else changed meanwhile: label." in said.output
    row = archive.state(SLUG).tihai("t01")
    assert (str(row.dam), row.label) == ("1/2", "theirs")


def test_of_the_same_field_both_versions_are_shown_with_the_command_that_writes_mine(archive: Archive) -> None:
    said = refused(archive, "change", SLUG, "t01", "label=the long one", "kind=damdar", "--seen", "2")
    assert "bela has changed tihai 't01' of 'evening' since revision 2" in said
    assert "Both changed: label." in said
    told = f"change {SLUG} t01 'label=the long one' kind=damdar --seen 2 --keep"
    assert f"Yours where both changed:  layakosh {told} mine" in said
    assert f"Theirs where both changed: layakosh {told} theirs" in said
    assert (
        run("change", SLUG, "t01", "label=the long one", "kind=damdar", "--seen", "2", "--keep", "mine").exit_code == 0
    )
    row = archive.state(SLUG).tihai("t01")
    assert (row.label, row.kind) == ("the long one", "damdar")


def test_keeping_theirs_writes_what_only_i_changed(archive: Archive) -> None:
    done = printed("change", SLUG, "t01", "label=x", "kind=damdar", "--seen", "2", "--keep", "theirs")
    assert done == {
        "recording": SLUG,
        "revision": 4,
        "mine": ["kind"],
        "theirs": ["label"],
        "clashing": ["label"],
        "kept": "theirs",
    }


def test_the_command_offered_names_who_and_where_as_they_were_given(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("LAYAKOSH_ARCHIVE")
    place = str(archive.path)
    said = refused(archive, "change", SLUG, "t01", "label=x", "--seen", "2", "--who", "chandra", "--archive", place)
    assert f"--keep mine --who chandra --archive {place}" in said


def test_a_row_withdrawn_meanwhile_can_be_brought_back(archive: Archive) -> None:
    assert "t01 withdrawn (revision 4)" in run("change", SLUG, "t01", "--withdraw", "--who", "bela").output
    said = refused(archive, "change", SLUG, "t01", "kind=damdar", "--seen", "3")
    assert "theirs: withdrawn" in said
    assert "To bring the row back as you have it: layakosh change" in said
    assert run("change", SLUG, "t01", "kind=damdar", "--seen", "3", "--keep", "mine").exit_code == 0
    assert archive.state(SLUG).tihai("t01").kind == "damdar"


def test_the_recordings_own_card_is_changed(archive: Archive) -> None:
    assert run("change", SLUG, SLUG, "venue=Hall", "on=2026-02-14").exit_code == 0
    assert archive.state(SLUG).recording.venue == "Hall"
    assert run("undo", SLUG).exit_code == 0
    assert archive.state(SLUG).recording.venue == ""


def test_what_cannot_be_changed_so_is_told(archive: Archive) -> None:
    assert "Did you mean dam?" in refused(archive, "change", SLUG, "t01", "damm=1")
    assert "not written as FIELD=VALUE" in refused(archive, "change", SLUG, "t01", "dam")
    assert "dam is given twice" in refused(archive, "change", SLUG, "t01", "dam=1", "dam=2")
    assert "layakosh sections evening --set gat" in refused(archive, "change", SLUG, "gat", "kind=jor")
    assert "layakosh sam evening move" in refused(archive, "change", SLUG, "s01", "at=3")
    assert "layakosh withdraw evening" in refused(archive, "change", SLUG, SLUG, "--withdraw")
    assert "goes alone" in refused(archive, "change", SLUG, "t01", "--withdraw", "--seen", "2")
    assert "comes before the third palla" in refused(archive, "change", SLUG, "t01", "landing=0:20")
    assert "so already" in run("change", SLUG, "t01", "label=theirs").output
