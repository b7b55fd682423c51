"""Several recordings taken in, side by side and one after the other."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.errors import ArchiveError
from annotate.intake_many import Came, Order, Outcome, SentSound, take_in_each, take_in_sent
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


def test_what_was_sent_is_known_by_its_names_not_by_where_it_lies_and_a_second_time_as_known(tmp_path: Path) -> None:
    archive = Archive.create(tmp_path / "archive")
    files = []
    for seed, name in enumerate(("side a.wav", "side b.wav")):
        place = tmp_path / f"number {seed}" / "sound"
        place.parent.mkdir()
        make_tape(place.with_suffix(".wav"), 6.0, seed).rename(place)
        files.append(SentSound(str(place), name))
    steps: list[Step] = []
    came = take_in_sent(archive.store.place, files, HOW | {"title": "Evening"}, steps.append)
    assert came == Came("evening")
    recording = archive.state("evening").recording
    assert [(file.name, file.start_s) for file in recording.files] == [("side a.wav", 0.0), ("side b.wav", 6.0)]
    assert steps[-1].overall == pytest.approx(1)
    again = take_in_sent(archive.store.place, files[1:], HOW | {"title": "Side b"}, steps.append)
    assert again.slug == "evening"
    assert "side b.wav is already in the archive as part of 'evening'" in again.known
    assert archive.slugs() == ["evening"]


def test_a_fault_of_what_was_sent_is_told_by_its_name(tmp_path: Path) -> None:
    archive = Archive.create(tmp_path / "archive")
    place = tmp_path / "number" / "sound"
    place.parent.mkdir()
    place.write_bytes(b"no sound at all")
    with pytest.raises(ArchiveError) as told:
        take_in_sent(archive.store.place, [SentSound(str(place), "evening.wav")], HOW, lambda _step: None)
    assert "evening.wav" in str(told.value)
    assert "number" not in str(told.value)
