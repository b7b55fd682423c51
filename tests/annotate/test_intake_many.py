"""Several recordings taken in, side by side and one after the other."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.intake_many import Order, Outcome, take_in_each
from annotate.intake_source import look_at
from annotate.intake_stages import Step
from tests.annotate.tapes import make_tape

HOW = {"raga": "Desh", "tala": "teental"}


@pytest.mark.parametrize("workers", [1, 2])
def test_one_that_fails_does_not_stop_the_others_and_the_report_says_why(tmp_path: Path, workers: int) -> None:
    archive = Archive.create(tmp_path / "archive")
    tapes = [make_tape(tmp_path / f"{name}.wav", 6.0, seed) for seed, name in enumerate(("first", "second"))]
    orders = [Order(look_at(tape), HOW) for tape in tapes]
    tapes[0].unlink()  # the disk was taken out after it was looked at
    steps: list[tuple[int, Step]] = []
    ended: list[Outcome] = []
    outcomes = take_in_each(
        archive, orders, workers, lambda *told: steps.append(told), lambda _, outcome: ended.append(outcome)
    )
    assert [outcome.slug for outcome in outcomes] == ["", "second"]
    assert [outcome.order for outcome in outcomes] == orders
    assert "first.wav" in outcomes[0].error
    assert archive.slugs() == ["second"]
    assert {number for number, step in steps if step.overall == pytest.approx(1)} == {1}
    assert len(ended) == 2
    left = [path.stem for path in (archive.path / "unfinished").glob("*.lock")]
    assert left == [orders[0].source.sha256[:32]]  # for the next run
