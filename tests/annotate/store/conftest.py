from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path

import pytest

from annotate.store.base import Store
from annotate.store.opening import store_at
from tests.annotate.store.objects_server import BUCKET, environment, objects_server

_number = itertools.count()


@pytest.fixture(scope="session")
def endpoint() -> Iterator[str]:
    with objects_server() as endpoint:
        yield endpoint


@pytest.fixture
def bucket(endpoint: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> str:
    """The URL of an empty prefix in a bucket; caches lie in the test's own folder."""
    for name, value in environment(endpoint).items():
        monkeypatch.setenv(name, value)
    monkeypatch.setenv("LAYAKOSH_CACHE", str(tmp_path / "cache"))
    return f"s3://{BUCKET}/archives/{next(_number)}"


@pytest.fixture(params=["disk", "objects"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a new archive may be: on a disk, and in an object store."""
    return str(tmp_path / "archive") if request.param == "disk" else str(request.getfixturevalue("bucket"))


@pytest.fixture
def store(place: str) -> Store:
    return store_at(place)
