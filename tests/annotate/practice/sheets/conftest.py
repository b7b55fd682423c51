from __future__ import annotations

import pytest

from annotate.archive import Archive
from tests.annotate.desk import make_archive
from tests.annotate.practice.sheets.pieces_made import with_pieces


@pytest.fixture(scope="session")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """An archive for tests that only read."""
    return with_pieces(make_archive(tmp_path_factory.mktemp("sheets")))
