from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.revisions import add
from tests.annotate.desk import SLUG, make_archive, tihai
from tests.annotate.store.conftest import bucket, endpoint, place

__all__ = ["bucket", "endpoint", "place"]


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """The recording of the desk (revision 1) and a tihai that asha wrote down (revision 2)."""
    archive = make_archive(tmp_path)
    archive.commit(SLUG, [add(tihai())], "asha", "tihai written down")
    return archive
