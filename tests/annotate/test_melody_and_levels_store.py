"""The melody and the waveform levels on disk."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np

from annotate import levels_store, melody_store
from ingest.levels import LevelMaker
from ingest.melody import Melody


def test_waveform_levels_come_back_as_they_were_written(tmp_path: Path) -> None:
    maker = LevelMaker()
    maker.add(np.random.default_rng(1).uniform(-1, 1, 100_003).astype(np.float32))
    levels = maker.finish()
    assert len(levels.low) > 1
    levels_store.save(tmp_path, levels)
    back = levels_store.load(tmp_path)
    assert back is not None
    assert back.cell_s == levels.cell_s
    for wanted, found in ((levels.low, back.low), (levels.high, back.high)):
        assert len(wanted) == len(found)
        for wanted_cells, found_cells in zip(wanted, found, strict=True):
            assert found_cells.dtype == np.int16
            np.testing.assert_array_equal(found_cells, wanted_cells)


def test_a_melody_comes_back_as_it_was_written(tmp_path: Path) -> None:
    numbers = np.linspace(-1200, 2400, 50, dtype=np.float32)
    values = {field.name: numbers if field.name != "hop_s" else 0.02 for field in fields(Melody)}
    melody = Melody(**values)  # type: ignore[arg-type] # whatever its arrays are called
    melody_store.save(tmp_path / "evidence", melody)
    back = melody_store.load(tmp_path / "evidence")
    assert back is not None
    for name, wanted in values.items():
        np.testing.assert_array_equal(getattr(back, name), wanted)


def test_what_is_missing_or_cannot_be_read_is_to_be_made_again(tmp_path: Path) -> None:
    assert melody_store.load(tmp_path) is None
    assert levels_store.load(tmp_path) is None
    (tmp_path / melody_store.FILE).write_bytes(b"half a fi")
    (tmp_path / levels_store.FILE).write_bytes(b"PAR1")
    assert melody_store.load(tmp_path) is None
    assert levels_store.load(tmp_path) is None
