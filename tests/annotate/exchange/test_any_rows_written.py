"""Whatever is in a recording, MIDI and MusicXML of it can be written and read by others, or it is said why not."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from hypothesis import given, settings

from annotate.exchange.errors import CannotExport
from annotate.exchange.midi_out import midi
from annotate.exchange.musicxml_out import musicxml
from annotate.exchange.score import Score, of_phrase, of_tihai
from annotate.records import Record
from tests.annotate.desk import make_archive
from tests.annotate.exchange.test_musicxml_out import check_schema
from tests.annotate.exchange.test_round_trips import Desk, filled, recordings


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    folder: Path = tmp_path_factory.mktemp("any")
    return Desk(make_archive(folder), folder)


@given(rows=recordings())
@settings(max_examples=30)
def test_any_tihais_and_phrases_are_written(desk: Desk, rows: list[Record]) -> None:
    state, slug, _ = filled(desk, rows)
    grid = desk.archive.grid(slug)
    pretty_midi = pytest.importorskip("pretty_midi")
    file = pretty_midi.PrettyMIDI(io.BytesIO(midi(state, grid).content))
    assert all(note.end > note.start >= 0 for each in file.instruments for note in each.notes)
    scores: list[Score] = [of_tihai(each, grid, "any") for each in state.tihais]
    scores += [of_phrase(each, grid, "any") for each in state.phrases]
    for score in scores:
        try:
            check_schema(musicxml(score, "any"))
        except CannotExport as error:
            assert "can be written in notes" in str(error)  # noqa: PT017
        if score.lands is not None and score.stretches[0].passage.length.denominator in (1, 2, 4, 8):
            try:
                check_schema(musicxml(score, "any", repeats="signs"))
            except CannotExport as error:
                assert "has no metre" in str(error)  # noqa: PT017
