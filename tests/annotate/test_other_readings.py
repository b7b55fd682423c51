"""Half and twice the laya: offered where they come near, and taken by marking two sams."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from annotate.archive import Archive
from annotate.intake import take_in
from annotate.marking import mark_sams
from annotate.other_readings import other_readings
from layakosh import main
from tests.ingest.sounds import theka, write
from theory.talas import get_tala

MATRA_S = 0.8


@pytest.fixture
def ambiguous(tmp_path: Path) -> Archive:
    """A theka of dadra: as soon read with two strokes to the matra."""
    tala = get_tala("dadra")
    times = 0.5 + MATRA_S / 2 * np.arange(12 * 7)
    sound = theka(tala, times, times[-1] + 1.0)
    archive = Archive.open(tmp_path / "archive", create=True)
    take_in(archive, write(tmp_path / "dadra.wav", sound), raga="Desh", tala="dadra", title="Dadra")
    return archive


def test_the_other_laya_is_named_with_the_sams_that_choose_it(
    ambiguous: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ingest.readings.CLOSE_PER_MATRA", 10.0)  # everything comes near
    readings = other_readings(ambiguous, "dadra")
    slower = next(reading for reading in readings if reading.other_mpm < reading.laya_mpm)
    assert slower.laya_mpm == pytest.approx(150, rel=0.03)
    assert slower.other_mpm == pytest.approx(75, rel=0.05)
    grid = mark_sams(ambiguous, "dadra", slower.sams_s)
    assert float(np.diff(slower.sams_s)[0]) == pytest.approx(6 * MATRA_S, rel=0.05)
    marked = [
        at
        for at, source in zip(grid.sections[-1].sam_s, grid.sections[-1].sam_source, strict=True)
        if source == "marked"
    ]
    assert np.diff(marked) == pytest.approx([6 * MATRA_S], rel=0.05)
    assert other_readings(ambiguous, "dadra") == []  # a person has read it


def test_a_plain_theka_has_no_other_reading_and_the_command_says_so(ambiguous: Archive) -> None:
    said = CliRunner().invoke(main, ["doubts", "dadra", "--laya", "--archive", str(ambiguous.path)])
    assert said.exit_code == 0
    assert "No section comes near being read at half or twice its laya." in said.stdout
