"""MIDI, read back by two readers that are not ours: pretty_midi (times by the tempo map), music21 (events by tick)."""

from __future__ import annotations

import io
import warnings
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from annotate.archive import Archive
from annotate.exchange.errors import CannotExport
from annotate.exchange.midi_keys import BASS_KEYS, MATRA_KEY, SAM_KEY, TREBLE_KEYS, UNKNOWN_KEY, sa_key
from annotate.exchange.midi_out import midi
from annotate.exchange.sounding import of_phrase, of_tihai
from annotate.exchange.timeline import TICKS, timeline_of
from annotate.records import MarkedSam, PhraseRecord, Recording, Section
from annotate.revisions import add, change
from annotate.tables_in import load
from layakosh import main
from tests.annotate.desk import SLUG, at, phrase, tihai
from theory.tihai import LandingRule

PUBLISHED = Path(__file__).parents[2] / "data/puriya_sitar_concert"


def read_back(content: bytes) -> Any:
    pretty_midi = pytest.importorskip("pretty_midi")
    return pretty_midi.PrettyMIDI(io.BytesIO(content))


def notes_of(file: Any, name: str) -> list[Any]:
    return [note for each in file.instruments if each.name == name for note in each.notes]


def written(archive: Archive, slug: str = SLUG) -> Any:
    return read_back(midi(archive.state(slug), archive.grid(slug)).content)


def test_every_matra_of_the_published_concert_lands_where_it_was_played_to_the_microsecond(archive: Archive) -> None:
    # Puriya on sitar, sams as published: see tests/data/puriya_sitar_concert/README.md
    load(archive, "puriya", sections=PUBLISHED / "sections.csv", sams=PUBLISHED / "sam.csv")
    rows = archive.grid("puriya").rows()
    played = np.unique(rows["matra_s"].to_numpy())
    clicks = notes_of(written(archive, "puriya"), "click")
    times = np.array(sorted(note.start for note in clicks))
    assert len(times) == len(played) > 3000
    np.testing.assert_allclose(times, played, rtol=0, atol=0.6e-6)  # half a microsecond, and rounding of sums
    sams = sorted(note.start for note in clicks if note.pitch == SAM_KEY)
    np.testing.assert_allclose(sams, np.unique(rows["matra_s"][rows["matra"] == 1]), rtol=0, atol=0.6e-6)
    assert {note.pitch for note in clicks} == {SAM_KEY, MATRA_KEY}


def test_a_bar_begins_on_every_sam_whatever_lies_before_it(archive: Archive) -> None:
    file = written(archive)
    grid = archive.grid(SLUG)
    downbeats = file.get_downbeats()
    for sam_s in grid.sections[0].sam_s[:-1]:
        assert np.min(np.abs(downbeats - sam_s)) < 1e-6
    inside = downbeats[(downbeats > 10.1) & (downbeats < 89.9)]
    np.testing.assert_allclose(inside, np.arange(18.0, 89, 8), rtol=0, atol=1e-6)
    assert {(change.numerator, change.denominator) for change in file.time_signature_changes} == {(1, 4), (16, 4)}


def test_another_parser_finds_the_same_tempi_metres_and_markers(archive: Archive) -> None:
    archive.commit(SLUG, [add(tihai(label="पाँच"))], "test", "a tihai")
    reader = pytest.importorskip("music21.midi")
    file = reader.MidiFile()
    file.readstr(midi(archive.state(SLUG), archive.grid(SLUG)).content)
    assert (file.format, file.ticksPerQuarterNote, len(file.tracks)) == (1, TICKS, 5)
    tick, tempi, markers = 0, [], {}
    for event in file.tracks[0].events:
        if event.isDeltaTime():
            tick += event.time
        elif event.type == reader.MetaEvents.SET_TEMPO:
            tempi.append((tick, int.from_bytes(event.data, "big")))
        elif event.type == reader.MetaEvents.MARKER:
            markers[event.data.decode()] = tick
    line = timeline_of(archive.grid(SLUG))
    seconds = np.interp(
        markers["tihai t01: S R G m P (पाँच)"], np.arange(len(line.quarters_us)) * TICKS, line.quarters_us
    )
    assert seconds == 18_000_000
    assert tempi == [
        (quarter * TICKS, us) for quarter, (before, us) in enumerate(pairwise((0, *line.tempi_us))) if us != before
    ]
    assert markers["landing t01"] == line.tick_of(26.0) == markers["sam 3 (counted)"]


@pytest.mark.parametrize("dev_s", [0.0, 0.04, -0.03])
def test_the_notes_of_a_tihai_stand_where_its_pallas_and_its_landing_were_played(
    archive: Archive, dev_s: float
) -> None:
    archive.commit(SLUG, [add(tihai(dev_s=dev_s, palla="S R:1/2 G:1/2 m P -"))], "test", "a tihai")
    found = sorted(notes_of(written(archive), "lead: tihais"), key=lambda note: note.start)
    onsets = [Fraction(0), Fraction(1), Fraction(3, 2), Fraction(2), Fraction(3)]
    wanted = [at(2, 1 + 6 * palla + onset) for palla in range(3) for onset in onsets]
    wanted[-1] = 26.0 + dev_s
    tick_s = 0.5 / TICKS
    np.testing.assert_allclose([note.start for note in found], wanted, rtol=0, atol=tick_s)
    assert [note.pitch for note in found] == [60 + semitones for semitones in (0, 2, 4, 5, 7)] * 3
    assert [note.velocity for note in found] == [90] * 14 + [120]


def test_a_tihai_of_which_only_the_interval_is_known_is_spread_by_its_arithmetic() -> None:
    record = tihai(palla_s=(18.0,))
    _, notes = of_tihai(record, None)
    assert [round(each.start_s, 9) for each in notes if each.symbol == "S"] == [18.0, 21.0, 24.0]
    assert notes[-1].start_s == 26.0
    assert of_tihai(tihai(palla_s=(18.0,), dam=None), None)[1] == []
    _, after = of_tihai(tihai(rule=LandingRule.AFTER, palla="S R G m", dam=Fraction(2), palla_s=(18.0,)), None)
    assert (len(after), any(each.lands for each in after)) == (12, False)


def test_a_phrase_goes_evenly_from_its_start_to_its_end(archive: Archive) -> None:
    archive.commit(SLUG, [add(PhraseRecord("p01", 20.0, 23.0, ".N R - GM"))], "test", "a phrase")
    found = sorted(notes_of(written(archive), "lead: phrases"), key=lambda note: note.start)
    assert [note.pitch for note in found] == [59, 62, 64, 66]
    np.testing.assert_allclose([note.start for note in found], [20, 20.75, 22.25, 22.625], rtol=0, atol=0.5 / TICKS)
    np.testing.assert_allclose([note.end for note in found], [20.75, 22.25, 22.625, 23], rtol=0, atol=0.5 / TICKS)


@pytest.mark.parametrize("sa_hz", [261.63, 277.0, 138.4, 240.0])
def test_sa_sounds_at_the_recordings_pitch(archive: Archive, sa_hz: float) -> None:
    archive.commit(SLUG, [change(Recording(SLUG, "Evening", sa_hz=sa_hz, duration_s=100.0)), add(phrase())], "t", "sa")
    file = written(archive)
    (lead,) = [each for each in file.instruments if each.name == "lead: phrases"]
    (bend,) = lead.pitch_bends
    re_hz = 440 * 2 ** ((lead.notes[0].pitch + 2 * bend.pitch / 8192 - 69) / 12)
    cents = 1200 * np.log2(re_hz / (sa_hz * 2 ** (2 / 12)))  # the phrase begins on Re
    assert abs(cents) < 0.02
    assert {(change.number, change.value) for change in lead.control_changes} >= {(6, 2)}


def test_without_sa_it_is_said_that_middle_c_stands_for_it(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase())], "test", "a phrase")
    assert sa_key(None) == (60, 0)
    assert "middle C stands for it" in midi(archive.state(SLUG), archive.grid(SLUG)).left_out


def test_bols_are_what_either_drum_does_and_say_their_name(archive: Archive) -> None:
    bols = [add(PhraseRecord("p01", 20.0, 24.0, "Dha Na Ge Ke")), add(PhraseRecord("p02", 30.0, 31.0, "Xyz"))]
    archive.commit(SLUG, bols, "test", "bols")
    file = written(archive)
    by_start: dict[float, set[int]] = {}
    for note in notes_of(file, "tabla"):
        by_start.setdefault(round(note.start, 3), set()).add(note.pitch)
    assert by_start == {
        20.0: {BASS_KEYS["rings"], TREBLE_KEYS["rings"]},
        21.0: {TREBLE_KEYS["rings"]},
        22.0: {BASS_KEYS["rings"]},
        23.0: {BASS_KEYS["dead"]},
        30.0: {UNKNOWN_KEY},
    }
    assert [(lyric.text, round(lyric.time, 3)) for lyric in file.lyrics] == [
        ("Dha", 20.0), ("Na", 21.0), ("Ge", 22.0), ("Ke", 23.0), ("Xyz", 30.0)
    ]  # fmt: skip
    pretty_midi = pytest.importorskip("pretty_midi")
    names = [pretty_midi.note_number_to_drum_name(key) for key in (*BASS_KEYS.values(), *TREBLE_KEYS.values())]
    assert names == ["Low Conga", "Low Bongo", "Open Hi Conga", "Mute Hi Conga"]


def test_a_word_of_two_strokes_is_two_notes_within_its_matra(archive: Archive) -> None:
    archive.commit(SLUG, [add(PhraseRecord("p01", 20.0, 21.0, "Gadi"))], "test", "bols")
    found = sorted(notes_of(written(archive), "tabla"), key=lambda note: note.start)
    np.testing.assert_allclose([note.start for note in found], [20.0, 20.5], rtol=0, atol=0.5 / TICKS)


def test_phrases_that_lie_over_each_other_lose_no_note(archive: Archive) -> None:
    rows = [phrase("p01", 20, 22, "S S S S"), phrase("p02", 20.25, 22.25, "S S S S")]
    archive.commit(SLUG, [add(row) for row in rows], "test", "phrases")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = sorted(note.start for note in notes_of(written(archive), "lead: phrases"))
    np.testing.assert_allclose(found, np.arange(20, 22, 0.25), rtol=0, atol=0.5 / TICKS)


def test_sections_in_two_talas_and_without_any_follow_each_other(archive: Archive) -> None:
    rows = [
        Section("drut", "gat", 90.0, 98.0, "jhaptal"),
        *(MarkedSam(f"s{20 + n}", "drut", 90.5 + 2.5 * n) for n in range(4)),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "test", "another gat")
    file = written(archive)
    metres = [(round(each.time, 6), each.numerator) for each in file.time_signature_changes]
    assert metres == [(0.0, 1), (10.0, 16), (90.0, 2), (90.5, 10)]  # two matras lie before the first sam of the drut
    found = sorted(round(note.start, 6) for note in notes_of(file, "click") if note.start > 90.4)
    np.testing.assert_allclose(found[:31], [90.5 + 0.25 * n for n in range(31)], rtol=0, atol=1e-6)


def test_the_command_writes_midi_and_says_the_size_of_a_tick(archive: Archive, tmp_path: Path) -> None:
    archive.commit(SLUG, [add(tihai())], "test", "a tihai")
    file = tmp_path / "a.mid"
    result = CliRunner().invoke(main, ["export", SLUG, str(file), "--as", "midi", "--archive", str(archive.path)])
    assert result.exit_code == 0, result.output
    assert "a 960th of a matra, here up to 1.04 ms" in result.output
    assert len(notes_of(read_back(file.read_bytes()), "lead: tihais")) == 15


def test_phrase_notes_follow_the_notation_exactly() -> None:
    passage, notes = of_phrase(PhraseRecord("p", 0.0, float(3), "S - RG:1"))
    assert [(each.symbol, each.start_s, each.end_s) for each in notes] == [
        (note.symbol, float(note.onset), float(note.end)) for note in passage.notes
    ]


def test_a_matra_longer_than_a_tempo_can_tell_is_refused_with_its_place(archive: Archive) -> None:
    rows = [
        Section("slow", "gat", 100.0, 700.0, "teental"),
        MarkedSam("s90", "slow", 100.0, 1),
        MarkedSam("s91", "slow", 700.0, 2),
    ]
    archive.commit(SLUG, [change(Recording(SLUG, "Evening")), *(add(row) for row in rows)], "test", "too slow")
    with pytest.raises(CannotExport, match=r"A matra at 1:40 lasts 37\.5 s; a tempo reaches to 16\.8 s"):
        midi(archive.state(SLUG), archive.grid(SLUG))


def test_where_sections_lie_over_each_other_time_goes_on(archive: Archive) -> None:
    rows = [
        Section("over", "gat", 80.0, 96.0, "jhaptal"),
        *(MarkedSam(f"s9{n}", "over", 80.1 + 5 * n) for n in range(4)),
    ]
    archive.commit(SLUG, [add(row) for row in rows], "test", "over the end of the gat")
    line = timeline_of(archive.grid(SLUG))
    assert min(line.tempi_us) > 0
    times = [line.quarters_us[beat.quarter] / 1e6 for beat in line.beats]
    assert times == sorted(times)
    assert {round(each, 6) for each in times} >= {90.0, 90.1, 95.1}


def test_a_tala_of_any_length_makes_one_bar_an_avartan(archive: Archive) -> None:
    load(archive, "other", sections=written_rows(archive, "start_s,end_s,section,tala\n0,90,x,dhamar\n", "a.csv"))
    load(archive, "other", sams=written_rows(archive, "sam_s\n0\n7\n14\n21\n", "b.csv"))
    metres = written(archive, "other").time_signature_changes
    assert [(each.numerator, each.time) for each in metres] == [(14, 0.0)]


def written_rows(archive: Archive, text: str, name: str) -> Path:
    path = Path(archive.path).parent / name
    path.write_text(text)
    return path
