from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.records import PhraseRecord, Recording
from annotate.revisions import add
from tests.annotate.desk import make_archive

LINES = {
    "desh": ("R m P", "n D P", "m G R", "N S'"),
    "bhupali": ("S R G P", "G P D S'", "D P G R S"),
}


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return make_archive(tmp_path)


@pytest.fixture
def years(tmp_path: Path) -> Archive:
    """Ten performances of Desh, 2010 to 2019: R m P once more every year, the other three twice each; one Bhupali."""
    made = Archive.create(tmp_path / "years")
    for number in range(10):
        often = {"R m P": number + 1, "n D P": 2, "m G R": 2, "N S'": 2}
        lines = [line for line, times in often.items() for _ in range(times)]
        lead = "sarod" if number % 2 else "sitar"
        recording = Recording(
            f"y{number}",
            f"Year {number}",
            date(2010 + number, 1, 5),
            raga="desh",
            lead=lead,
            duration_s=200.0,
            musicians=((lead, f"Player {number % 2}"), ("tabla", "Devkant")),
        )
        rows = [PhraseRecord(f"p{n:02d}", 5.0 * n, 5.0 * n + 3, line, "mukhra") for n, line in enumerate(lines)]
        made.commit(recording.slug, [add(row) for row in (recording, *rows)], "a", "")
    bhupali = Recording("night", "Night", raga="bhupali", duration_s=100.0)
    rows = [PhraseRecord(f"p{n}", 5.0 * n, 5.0 * n + 4, line) for n, line in enumerate(LINES["bhupali"])]
    made.commit("night", [add(row) for row in (bhupali, *rows)], "a", "")
    return made
