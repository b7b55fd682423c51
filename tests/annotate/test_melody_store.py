"""The melody on disk."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np

from annotate import melody_store
from ingest.melody import Melody


def test_a_melody_comes_back_as_it_was_written(tmp_path: Path) -> None:
    numbers = np.linspace(-1200, 2400, 50, dtype=np.float32)
    values = {field.name: numbers if field.name != "hop_s" else 0.02 for field in fields(Melody)}
    melody = Melody(**values)  # type: ignore[arg-type] # whatever its arrays are called
    melody_store.save(tmp_path / "evidence", melody)
    back = melody_store.load(tmp_path / "evidence")
    assert back is not None
    for name, wanted in values.items():
        np.testing.assert_array_equal(getattr(back, name), wanted)


def test_a_melody_that_is_missing_or_cannot_be_read_is_to_be_followed_again(tmp_path: Path) -> None:
    assert melody_store.load(tmp_path) is None
    (tmp_path / melody_store.FILE).write_bytes(b"half a fi")
    assert melody_store.load(tmp_path) is None
