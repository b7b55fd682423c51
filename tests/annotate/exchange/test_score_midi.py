"""A score in MIDI, read back by two readers that are not ours: mido (ticks), pretty_midi (seconds by its tempo)."""

from __future__ import annotations

import io
from fractions import Fraction
from typing import Any

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.exchange.midi_keys import MATRA_KEY, SAM_KEY, sa_key
from annotate.exchange.score import Score, Stretch, of_phrase, of_tihai
from annotate.exchange.score_midi import score_midi
from annotate.exchange.timeline import TICKS
from tests.annotate.desk import SLUG, at, phrase, tihai
from theory.passage import Note, Passage, silence
from theory.swaras import semitones_of
from theory.talas import get_tala
from theory.tihai import LandingRule


def ticks_of(content: bytes, name: str) -> list[tuple[int, int, int]]:
    """Every note of a track, as mido reads it: key, and the ticks at which it is pressed and let go."""
    file = mido.MidiFile(file=io.BytesIO(content), charset="utf-8")
    assert file.ticks_per_beat == TICKS
    (track,) = (each for each in file.tracks if each.name == name)
    here, down, found = 0, dict[int, int](), list[tuple[int, int, int]]()
    for message in track:
        here += message.time
        if message.type == "note_on" and message.velocity:
            down[message.note] = here
        elif message.type in ("note_on", "note_off"):
            found.append((message.note, down.pop(message.note), here))
    assert not down
    return sorted(found, key=lambda each: each[1])


def wanted(score: Score, sa: int = 60) -> list[tuple[int, Fraction, Fraction]]:
    """What the arithmetic of the notation says: key, onset and end in matras from the sam before it."""
    here, found = score.start - 1, list[tuple[int, Fraction, Fraction]]()
    for each in score.stretches:
        found += [(sa + semitones_of(n.symbol), here + n.onset, here + n.end) for n in each.passage.notes]
        here += each.passage.length
    return found


def pretty(content: bytes) -> Any:
    return pytest.importorskip("pretty_midi").PrettyMIDI(io.BytesIO(content))


@pytest.mark.parametrize(
    "record",
    [
        tihai(),
        tihai(palla="S R:1/2 m P:1/2 nD PmG R", dam=Fraction(1, 2), start=Fraction(21, 2)),
        tihai(palla="SRG mPD .nD'PmG R -S", dam=Fraction(0)),
        tihai(palla="S R G m", dam=Fraction(2), rule=LandingRule.AFTER),
    ],
)
def test_a_tihai_has_the_keys_and_the_places_of_its_notation_to_the_tick(record: Any, archive: Archive) -> None:
    score = of_tihai(record, archive.grid(SLUG), "Evening")
    assert [
        (key, Fraction(begin, TICKS), Fraction(end, TICKS))
        for key, begin, end in ticks_of(score_midi(score, "sitar"), "sitar")
    ] == wanted(score)


def test_a_second_reader_hears_it_at_the_laya_of_the_score_with_a_click_on_every_matra(archive: Archive) -> None:
    score = of_tihai(tihai(), archive.grid(SLUG), "Evening")
    file = pretty(score_midi(score, "sitar"))
    notes = {each.name: each.notes for each in file.instruments}
    assert score.laya_mpm == pytest.approx(120, abs=1e-6)
    for note, (key, begin, end) in zip(notes["sitar"], wanted(score), strict=True):
        assert (note.pitch, note.start, note.end) == (key, pytest.approx(begin / 2), pytest.approx(end / 2))
    assert [(each.pitch, each.start) for each in notes["click"]] == [
        (SAM_KEY if matra % 16 == 0 else MATRA_KEY, pytest.approx(matra / 2)) for matra in range(32)
    ]
    assert [change.numerator for change in file.time_signature_changes] == [16]


def test_it_is_tuned_to_the_sa_of_the_recording(archive: Archive) -> None:
    score = of_phrase(phrase(start_s=at(2, 3), end_s=at(2, 5)), archive.grid(SLUG), "Evening")
    sa, bend = sa_key(233.0)
    (melody,) = (
        each for each in pretty(score_midi(score, "sitar", sa=sa, bend=bend)).instruments if each.name == "sitar"
    )
    assert [note.pitch for note in melody.notes] == [key for key, _, _ in wanted(score, sa)]
    # A4 = 440 Hz is key 69; a whole bend is two semitones
    heard_hz = 440 * 2 ** ((sa + 2 * melody.pitch_bends[0].pitch / 8192 - 69) / 12)
    assert heard_hz == pytest.approx(233.0, rel=1e-4)


def test_it_says_whose_it_is(archive: Archive) -> None:
    score = of_tihai(tihai(), archive.grid(SLUG), "Evening")
    file = mido.MidiFile(file=io.BytesIO(score_midi(score, "sitar", rights="आशा राव; CC BY 4.0")), charset="utf-8")
    assert [each.text for each in file.tracks[0] if each.type == "copyright"] == ["आशा राव; CC BY 4.0"]


def test_bols_go_to_the_drums_and_say_their_names(archive: Archive) -> None:
    score = of_tihai(tihai(palla="Dha TiRaKiTa Ta:1/2 Ka Dha:1/2", dam=Fraction(1)), archive.grid(SLUG), "Evening")
    file = pretty(score_midi(score, "tabla"))
    (drums,) = (each for each in file.instruments if each.name == "tabla")
    assert drums.is_drum
    assert [each.text for each in file.lyrics][:8] == ["Dha", "Ti", "Ra", "Ki", "Ta", "Ta", "Ka", "Dha"]


LENGTHS = st.sampled_from([Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(2, 3), Fraction(1), Fraction(3, 2)])
PALLAS = st.lists(
    st.tuples(st.sampled_from(["S", "r", "G", "M", "P", ".n", "S'", "_"]), LENGTHS), min_size=1, max_size=7
)


def passage_of(parts: list[tuple[str, Fraction]]) -> Passage:
    notes, here = list[Note](), Fraction(0)
    for symbol, length in parts:
        if symbol != "_":
            notes.append(Note(symbol, here, length))
        here += length
    return Passage("sargam" if notes else "empty", tuple(notes), here)


@settings(max_examples=25, deadline=None)
@given(PALLAS, LENGTHS, st.sampled_from(["teental", "jhaptal", "rupak"]), st.integers(1, 7))
def test_any_palla_comes_back_to_the_tick(
    parts: list[tuple[str, Fraction]], dam: Fraction, tala: str, start: int
) -> None:
    palla = passage_of(parts)
    stretches = (Stretch(palla, "palla 1"), Stretch(silence(dam)), Stretch(palla, "palla 2"))
    score = Score("Any", get_tala(tala), Fraction(start), stretches, 97.0)
    found = ticks_of(score_midi(score, "sarod"), "sarod")
    # the lengths above are all whole numbers of ticks, so what comes back is exact
    assert [(key, Fraction(begin, TICKS), Fraction(end, TICKS)) for key, begin, end in found] == wanted(score)
