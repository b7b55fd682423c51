from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from ingest.finding import find
from tests.annotate.proposals.gats import make_gats
from tests.annotate.proposals.plain_judge import PlainJudge


@pytest.fixture(autouse=True)
def plain_judge(monkeypatch: pytest.MonkeyPatch) -> None:
    """Judge by rules of thumb, so that nothing here changes when the finder learns anew."""
    monkeypatch.setattr(find, "judge", PlainJudge)


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An archive with one recording, ``evening``, and a tihai in either of its two gats."""
    archive = Archive.create(tmp_path / "archive")
    make_gats(archive)
    return archive
