from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.proposals import kept
from annotate.proposals.proposing import propose
from ingest.finding import find
from tests.annotate.desk import SLUG
from tests.annotate.proposals.gats import make_gats
from tests.annotate.proposals.plain_judge import PlainJudge


@pytest.fixture(autouse=True)
def plain_judge(monkeypatch: pytest.MonkeyPatch) -> None:
    """Judge by rules of thumb, so that nothing here changes when the finder learns anew."""
    monkeypatch.setattr(find, "judge", PlainJudge)


@pytest.fixture(scope="session")
def proposed_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the archive below; finding takes seconds, copying does not."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(find, "judge", PlainJudge)
        archive = Archive.create(tmp_path_factory.mktemp("gats") / "archive")
        make_gats(archive)
        propose(archive, SLUG)
    return archive.path


@pytest.fixture
def archive(proposed_once: Path, tmp_path: Path) -> Archive:
    """An archive with one recording, ``evening``, a tihai in either of its two gats, and what is proposed of it."""
    return Archive.open(shutil.copytree(proposed_once, tmp_path / "archive"))


@pytest.fixture
def unproposed(archive: Archive) -> Archive:
    """The same before anything was proposed."""
    (archive.folder(SLUG) / "evidence" / kept.FILE).unlink()
    return archive
