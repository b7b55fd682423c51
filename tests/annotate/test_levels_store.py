"""The waveform on disk: any stretch at any zoom, from a few groups of rows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from annotate import levels_store
from annotate.levels_store import waveform
from ingest.decode import WORK_RATE_HZ
from ingest.levels import FINEST, LevelMaker, Levels
from ingest.listen import Sound, listen

LENGTH_S = 130.0
CELL_S = FINEST / WORK_RATE_HZ
SOUND = (np.random.default_rng(1).uniform(-1, 1, round(LENGTH_S * WORK_RATE_HZ)) ** 9).astype(np.float32)


def made_of(sound: np.ndarray) -> Levels:
    maker = LevelMaker()
    maker.add(sound)
    return maker.finish()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("recording") / "evidence"
    levels_store.save(path, made_of(SOUND))
    return path


@given(
    start_s=st.floats(0, LENGTH_S - 1),
    length_s=st.floats(0.01, LENGTH_S),
    points=st.integers(1, 3000),
)
def test_every_point_holds_the_extremes_of_the_samples_it_covers(
    folder: Path, start_s: float, length_s: float, points: int
) -> None:
    shown = waveform(folder, start_s, start_s + length_s, points)
    assert shown is not None
    assert 1 <= len(shown.low) <= points
    assert shown.edge_s[0] <= start_s
    assert shown.edge_s[-1] >= min(start_s + length_s, LENGTH_S) - 1e-9  # the sum of two floats
    edges = np.rint(shown.edge_s * WORK_RATE_HZ).astype(int)
    for point in {0, len(shown.low) // 2, len(shown.low) - 1}:
        covered = SOUND[edges[point] : edges[point + 1]]
        # 16-bit steps, rounded
        assert shown.low[point] == pytest.approx(covered.min(), abs=0.51 / 32767)
        assert shown.high[point] == pytest.approx(covered.max(), abs=0.51 / 32767)


@pytest.mark.parametrize("points", [200, 1000])
@pytest.mark.parametrize("length_s", [1.0, 7.0, 60.0, LENGTH_S])
def test_a_stretch_has_about_as_many_points_as_are_wanted(folder: Path, length_s: float, points: int) -> None:
    shown = waveform(folder, 0.0, length_s, points)
    assert shown is not None
    possible = min(points, length_s / CELL_S)
    assert possible / 2 <= len(shown.low) <= points


def test_what_lies_outside_the_recording_is_left_out(folder: Path) -> None:
    shown = waveform(folder, -10.0, 10_000.0, 100)
    assert shown is not None
    assert shown.edge_s[0] == 0
    assert shown.edge_s[-1] == pytest.approx(LENGTH_S, abs=CELL_S * 4**6)  # the last cell may be longer than the sound
    for start_s, end_s in ((200.0, 300.0), (50.0, 40.0)):
        nothing = waveform(folder, start_s, end_s, 100)
        assert nothing is not None
        assert len(nothing.low) == 0


def test_a_few_groups_of_rows_serve_any_zoom(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two hours of levels, made without the sound."""
    cells = round(7200 / CELL_S)
    fine = np.random.default_rng(2).integers(0, 32767, cells).astype(np.int16)
    low, high = [-fine], [fine]
    while len(low[-1]) > 256:
        edges = np.arange(0, len(low[-1]), 4)
        low.append(np.minimum.reduceat(low[-1], edges))
        high.append(np.maximum.reduceat(high[-1], edges))
    levels_store.save(tmp_path, Levels(CELL_S, tuple(low), tuple(high)))
    read: list[int] = []
    rows = levels_store._rows

    def counted(file: object, first: int, last: int) -> object:
        read.append(last // levels_store._GROUP - first // levels_store._GROUP + 1)
        return rows(file, first, last)  # type: ignore[arg-type]

    monkeypatch.setattr(levels_store, "_rows", counted)
    for length_s in (1, 10, 100, 1000, 7200):
        assert waveform(tmp_path, 0.3, length_s, 2000) is not None
    assert max(read) <= 2


def test_the_levels_come_back_exactly(folder: Path) -> None:
    before, back = made_of(SOUND), levels_store.load(folder)
    assert back is not None
    assert back.cell_s == before.cell_s
    assert len(back.low) == len(before.low)
    for one, other in zip(back.low + back.high, before.low + before.high, strict=True):
        assert one.dtype == np.int16
        np.testing.assert_array_equal(one, other)


def test_a_stretch_too_short_for_the_levels_is_drawn_from_the_sound(tmp_path: Path) -> None:
    source = tmp_path / "sound.wav"
    soundfile.write(source, SOUND[: 5 * WORK_RATE_HZ], WORK_RATE_HZ)
    heard = listen(Sound((source,)), tmp_path)
    levels_store.save(tmp_path, heard.levels)
    coarse, fine = (waveform(tmp_path, 2.0, 2.1, 1000, sound) for sound in (None, lambda: heard.copy))
    assert coarse is not None
    assert fine is not None
    assert len(coarse.low) < 50
    assert 500 <= len(fine.low) <= 1000
    far, kept = (waveform(tmp_path, 0.0, 5.0, 1000, sound) for sound in (lambda: heard.copy, None))
    assert far is not None
    assert kept is not None
    np.testing.assert_array_equal(far.high, kept.high)


def test_without_a_readable_file_there_is_no_waveform(tmp_path: Path) -> None:
    assert waveform(tmp_path, 0, 1, 10) is None
    assert levels_store.load(tmp_path) is None
    (tmp_path / "levels.parquet").write_bytes(b"damaged")
    assert waveform(tmp_path, 0, 1, 10) is None
    levels_store.save(tmp_path, made_of(SOUND[:0]))
    nothing = waveform(tmp_path, 0, 1, 10)
    assert nothing is not None
    assert len(nothing.low) == 0
