"""An archive with a recording in which two tihais are played, and the finder at work in a thread of the tests.

What is heard is made up (`tests.annotate.proposals.gats`), and judged by rules of thumb, so that nothing here changes
when the finder learns anew. The sound is a click on every matra.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from annotate.archive import Archive
from annotate.proposals.proposing import propose
from annotate.revisions import change
from dashboard.proposals import runs
from ingest.finding import find
from tests.annotate.desk import SLUG
from tests.annotate.proposals.gats import make_gats
from tests.annotate.proposals.plain_judge import PlainJudge
from tests.dashboard.conftest import served

RATE_HZ = 8000
DURATION_S = 100.0


class Within:
    """Stands for `annotate.beside.Beside`: the function is called at once, where the judge of the tests is known."""

    def __init__(self, function: Callable[..., Any], *arguments: Any) -> None:
        self._told: list[float] = []
        self._result = function(*arguments, self._told.append)
        self.ended = False

    def heard(self, wait_s: float = 0.0) -> list[float]:  # noqa: ARG002 - as Beside is called
        self.ended = True
        return self._told

    def result(self) -> Any:
        return self._result

    def stop(self) -> None:
        pass


@pytest.fixture(autouse=True)
def plain_finder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(find, "judge", PlainJudge)
    monkeypatch.setattr(runs, "Beside", Within)


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive with one recording, with sound, in which nobody has looked for tihais; to be copied."""
    archive = Archive.create(tmp_path_factory.mktemp("proposals") / "archive")
    make_gats(archive)
    sound = archive.folder(SLUG) / "sound" / "listening.flac"
    sound.parent.mkdir(parents=True, exist_ok=True)
    wave = np.zeros(int(DURATION_S * RATE_HZ), dtype=np.float32)
    wave[:: RATE_HZ // 2] = 0.3
    soundfile.write(sound, wave, RATE_HZ)
    recording = replace(archive.state(SLUG).recording, audio_path=str(sound.relative_to(archive.path)))
    archive.commit(SLUG, [change(recording)], "test", "sound")
    archive.grid(SLUG)
    return archive.path


@pytest.fixture(scope="session")
def looked_through(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same, looked through; to be copied."""
    path = Path(shutil.copytree(made, tmp_path_factory.mktemp("looked") / "archive"))
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(find, "judge", PlainJudge)
        propose(Archive.open(path), SLUG)
    return path


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Archive:
    """An archive in which nobody has looked for tihais."""
    return Archive.open(shutil.copytree(made, tmp_path / "archive"))


@pytest.fixture
def found(looked_through: Path, archive: Archive) -> Archive:
    """The same archive, looked through."""
    shutil.copytree(looked_through, archive.path, dirs_exist_ok=True)
    return archive


@pytest.fixture
def own_address(archive: Archive) -> Iterator[str]:
    """Where the archive is served."""
    with served(archive.path) as url:
        yield url
