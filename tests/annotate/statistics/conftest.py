from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from tests.annotate.desk import make_archive


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return make_archive(tmp_path)
