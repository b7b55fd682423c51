"""No text of a request becomes a path: whatever is asked for, nothing but the recordings' sound leaves the archive."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from urllib.parse import quote, unquote_to_bytes

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.revisions import change
from dashboard.access.guarded import GuardedArchive
from dashboard.app import make_app
from tests.dashboard.access.conftest import HERE
from tests.dashboard.conftest import SLUG, build_archive

SECRET = b"what nobody outside may read"
FOLDERS = ("/sound/", "/assets/", "/cycles/", "/tihais/", "/sent/", "/_dash-component-suites/", "/fold/", "/")
PARTS = st.sampled_from(
    [
        *("..", ".", "", "%2e%2e", "..%2f", "%2f", "\\", "..\\", "%00", "~", "C:", "file:", "etc", "passwd", "dash"),
        *("access", "people.json", "key", "secret.txt", SLUG, "recordings", "revisions", "archive.toml"),
        "00000001.parquet",
    ]
)


@pytest.fixture(scope="module")
def holder(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, FlaskClient]:
    """An archive with a secret in it and one beside it, and a client of it on its own machine."""
    folder = tmp_path_factory.mktemp("around") / "archive"
    build_archive(folder)
    for place in (folder.parent, folder, folder / "recordings" / SLUG, folder / "recordings" / SLUG / "sound"):
        (place / "secret.txt").write_bytes(SECRET)
    (folder / "access").mkdir()
    (folder / "access" / "secret.txt").write_bytes(SECRET)
    return folder, make_app(folder).server.test_client()


def body(client: FlaskClient, address: str) -> bytes:
    """What comes back for a path as the server is given it: the client itself would take ``//..`` for a host."""
    path = unquote_to_bytes(address).decode("latin-1")
    with client.get("/", base_url=HERE, environ_overrides={"PATH_INFO": path}) as answer:
        return bytes(answer.get_data())


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(folder=st.sampled_from(FOLDERS), parts=st.lists(PARTS, min_size=1, max_size=7))
def test_no_way_through_the_folders_leads_to_a_file(
    holder: tuple[Path, FlaskClient], folder: str, parts: list[str]
) -> None:
    told = body(holder[1], folder + "/".join(parts))
    assert SECRET not in told
    assert b"PAR1" not in told
    assert b"root:" not in told


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(folder=st.sampled_from(FOLDERS[:5]), text=st.text(max_size=40))
def test_no_text_in_an_address_leads_to_a_file(holder: tuple[Path, FlaskClient], folder: str, text: str) -> None:
    address = folder + quote(text.encode("utf-8", "surrogatepass"), safe="")
    with holder[1].get(address, base_url=HERE) as answer:
        assert answer.status_code in (200, 301, 308, 404)
        assert SECRET not in answer.get_data()


@pytest.mark.parametrize(
    "named_by_its_row",
    [
        "access/secret.txt",
        "secret.txt",
        "archive.toml",
        "../secret.txt",
        f"recordings/{SLUG}/revisions/00000001.parquet",
    ],
)
def test_a_row_that_names_another_file_as_its_sound_gives_nothing(tmp_path: Path, named_by_its_row: str) -> None:
    archive = build_archive(tmp_path / "archive")
    (tmp_path / "secret.txt").write_bytes(SECRET)
    (archive.path / "secret.txt").write_bytes(SECRET)
    (archive.path / "access").mkdir()
    (archive.path / "access" / "secret.txt").write_bytes(SECRET)
    row = replace(archive.state(SLUG).recording, audio_path=named_by_its_row)
    archive.commit(SLUG, [change(row)], who="test", why="a row that lies")
    assert GuardedArchive(Archive.open(archive.path).store).sound_path(SLUG) is None
    with make_app(archive.path).server.test_client().get(f"/sound/{SLUG}", base_url=HERE) as answer:
        assert answer.status_code == 404


def test_a_link_out_of_the_archive_is_not_followed(tmp_path: Path) -> None:
    archive = build_archive(tmp_path / "archive")
    (tmp_path / "secret.txt").write_bytes(SECRET)
    sound = archive.path / archive.state(SLUG).recording.audio_path
    sound.unlink()
    sound.symlink_to(tmp_path / "secret.txt")
    with make_app(archive.path).server.test_client().get(f"/sound/{SLUG}", base_url=HERE) as answer:
        assert answer.status_code == 404
