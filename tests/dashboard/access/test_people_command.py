"""``layakosh people``: a password is typed at a prompt; every answer says what is so now or what to do."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from dashboard.access.people import People
from layakosh import main

PASSWORD = "seven blue lamps"


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    Archive.create(tmp_path / "archive")
    return tmp_path / "archive"


def run(archive: Path, *words: str, typed: str = "") -> Result:
    return CliRunner().invoke(main, ["people", "--archive", str(archive), *words], input=typed)


def test_a_person_is_added_with_a_password_typed_twice_and_shown_nowhere(archive: Path) -> None:
    told = run(archive, "add", "Asha Rao", "--role", "annotator", typed=f"{PASSWORD}\n{PASSWORD}\n")
    assert told.exit_code == 0
    assert "Asha Rao may also edit" in told.output
    assert PASSWORD not in told.output
    found = People(Archive.open(archive)).who_logs_in("asha rao", PASSWORD)
    assert found is not None


def test_people_are_listed_with_what_they_may_do(archive: Path) -> None:
    assert "layakosh people add NAME" in run(archive).output
    run(archive, "add", "Asha", "--role", "reader", typed=f"{PASSWORD}\n{PASSWORD}\n")
    assert run(archive).output == "Asha: reader, may look and listen\n"
    assert json.loads(run(archive, "--json").output) == [{"name": "Asha", "role": "reader"}]


def test_role_and_password_are_changed_and_somebody_is_removed(archive: Path) -> None:
    people = People(Archive.open(archive))
    run(archive, "add", "Asha", "--role", "reader", typed=f"{PASSWORD}\n{PASSWORD}\n")
    assert "may also edit" in run(archive, "role", "asha", "--role", "annotator").output
    assert people.known("Asha").may_edit
    assert "new password" in run(archive, "password", "Asha", typed="four grey herons\nfour grey herons\n").output
    assert people.who_logs_in("Asha", PASSWORD) is None
    assert people.who_logs_in("Asha", "four grey herons") is not None
    assert "no longer log in" in run(archive, "remove", "Asha").output
    assert people.all() == ()


@pytest.mark.parametrize(
    ("words", "typed", "message"),
    [
        (("add", "Asha"), "", "Say the role"),
        (("add",), "", "Whom?"),
        (("role", "Asha"), "", "Say the role"),
        (("remove", "Asha"), "", "Nobody is there yet"),
        (("password", "Asha"), "", "Nobody is there yet"),
        (("remove", "Asha", "--role", "reader"), "", "takes no --role"),
        (("add", "a/b", "--role", "reader"), "", "letters, digits, spaces"),
        (("add", "Asha", "--role", "reader"), "short\nshort\n", "10 to 256 characters"),
        (("add", "Asha", "--role", "owner"), "", "reader"),
        (("add", "Asha", PASSWORD, "--role", "reader"), "", "unexpected extra argument"),
    ],
)
def test_what_cannot_be_done_is_said_and_changes_nothing(
    archive: Path, words: tuple[str, ...], typed: str, message: str
) -> None:
    told = run(archive, *words, typed=typed)
    assert told.exit_code == 2
    assert message in told.output
    assert "Traceback" not in told.output
    assert People(Archive.open(archive)).all() == ()


def test_a_place_that_is_no_archive_is_said(tmp_path: Path) -> None:
    told = run(tmp_path / "nowhere")
    assert told.exit_code == 2
    assert "does not exist" in told.output
