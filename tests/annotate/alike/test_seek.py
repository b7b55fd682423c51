"""Query by example over an archive: places, words, what is left out, what is refused."""

from __future__ import annotations

import itertools
from fractions import Fraction
from pathlib import Path

import pytest
import soundfile

from annotate.alike.asked import passage_of, phrase_of, sound_file_of
from annotate.alike.heard import courses, ladders_of, sounding_of
from annotate.alike.likes import Like, place_words
from annotate.alike.seek import seek
from annotate.archive import Archive
from annotate.errors import BadAnnotation, NoSuchRecording
from annotate.records import Recording
from annotate.revisions import add
from ingest.errors import NothingToFind
from ingest.finding.like import Wanted
from tests.annotate.alike.conftest import OTHER
from tests.annotate.desk import SLUG, at, fingerprint
from theory.errors import NotationError

MELODY = Wanted("melody")


def like(**changes: object) -> Like:
    values: dict[str, object] = {
        "recording": SLUG, "section": "gat", "tala": "teental", "start_s": 28.0, "end_s": 30.5, "cycle": 3,
        "matra": 5.0, "height": 9.0, "melody": 0.93, "tabla": 0.881, "moved": "", "by": 0, "matras_ratio": Fraction(1),
        "pace": 1.0,
    }  # fmt: skip
    return Like(**{**values, **changes})  # type: ignore[arg-type]


def test_a_passage_is_found_on_the_grid_in_the_alap_and_in_another_recording_but_not_itself(archive: Archive) -> None:
    sought = seek(archive, passage_of(archive, SLUG, at(3, 5), at(3, 10)), MELODY, most=3)
    places = {(each.recording, round(each.start_s)) for each in sought.likes}
    assert places == {(SLUG, round(at(7, 3))), (SLUG, 2), (OTHER, 40)}
    on_grid = next(each for each in sought.likes if each.cycle is not None)
    assert (on_grid.section, on_grid.cycle) == ("gat", 7)
    assert on_grid.matra == pytest.approx(3, abs=0.1)
    moved = next(each for each in sought.likes if each.recording == OTHER)
    assert moved.moved_words in ("2 semitones higher", "1 step higher")
    assert (moved.cycle, moved.matras_ratio) == (None, None)
    assert [each.height for each in sought.likes] == sorted((each.height for each in sought.likes), reverse=True)


def test_a_passage_of_an_alap_is_found_on_the_grid_by_seconds(archive: Archive) -> None:
    found = seek(archive, passage_of(archive, SLUG, 2.0, 4.5), MELODY, most=3).likes
    assert {3, 7} <= {each.cycle for each in found}
    assert {each.matras_ratio for each in found} == {None}
    assert {(each.recording, round(each.start_s)) for each in found} >= {
        (SLUG, round(at(3, 5))),
        (SLUG, round(at(7, 3))),
    }


def test_a_typed_phrase_is_found_in_both(archive: Archive) -> None:
    found = seek(archive, phrase_of("m P N S' P", "desh"), MELODY, most=4).likes
    assert {(each.recording, round(each.start_s)) for each in found} >= {
        (SLUG, round(at(3, 5))),
        (SLUG, round(at(7, 3))),
    }
    assert {each.pace for each in found} == {None}


def test_only_the_recordings_named_are_looked_through_and_progress_is_told(archive: Archive) -> None:
    told: list[float] = []
    asked = passage_of(archive, SLUG, at(3, 5), at(3, 10))
    sought = seek(archive, asked, MELODY, [OTHER], 3, told.append)
    assert {each.recording for each in sought.likes} == {OTHER}
    assert (sought.searched, told) == (1, [1.0])
    with pytest.raises(NoSuchRecording):
        seek(archive, asked, MELODY, ["nowhere"])


def test_a_recording_that_was_never_measured_is_named_and_not_looked_through(archive: Archive) -> None:
    archive.commit("paper", [add(Recording("paper", "On paper", raga="desh"))], "test", "made")
    sought = seek(archive, passage_of(archive, SLUG, at(3, 5), at(3, 10)), MELODY)
    assert (sought.searched, sought.not_measured) == (2, ("paper",))
    with pytest.raises(BadAnnotation, match="never measured"):
        passage_of(archive, "paper", 1.0, 2.0)


def test_looking_changes_nothing(archive: Archive) -> None:
    before = fingerprint(archive)
    seek(archive, passage_of(archive, SLUG, at(3, 5), at(3, 10)))
    assert fingerprint(archive) == before


@pytest.mark.parametrize(("start_s", "end_s"), [(5.0, 5.1), (5.0, 4.0), (-1.0, 4.0), (120.0, 130.0)])
def test_a_passage_that_cannot_be_looked_for_is_refused_with_its_times(
    archive: Archive, start_s: float, end_s: float
) -> None:
    with pytest.raises(BadAnnotation, match=r"The passage .+ (long|lie)"):
        passage_of(archive, SLUG, start_s, end_s)


def test_a_phrase_that_cannot_be_read_is_shown_with_its_place() -> None:
    with pytest.raises(NotationError):
        phrase_of("m P H")
    with pytest.raises(NothingToFind):
        phrase_of("- -")


def test_a_sound_file_that_is_too_short_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "blip.wav"
    soundfile.write(path, [0.1] * 2205, 22050)
    with pytest.raises(BadAnnotation, match=r"0\.1 s long"):
        sound_file_of(path)


def test_every_moment_of_a_recording_is_looked_at_once(archive: Archive) -> None:
    sounding = sounding_of(archive, SLUG)
    assert sounding is not None
    parts = [each.course for each in courses(sounding, archive.grid(SLUG), by_matras=True)]
    ends = sorted((float(part.edges_s[0]), float(part.edges_s[-1])) for part in parts)
    assert ends[0][0] == 0
    assert ends[-1][1] == pytest.approx(100, abs=0.1)
    assert all(later[0] == pytest.approx(earlier[1], abs=0.1) for earlier, later in itertools.pairwise(ends))


def test_the_ladders_of_a_raga_are_all_its_swaras_and_those_of_its_aroha() -> None:
    """Desh: S R m P N S' up, komal ni only in descent (the table of ragas names its sources)."""
    whole, ascent = ladders_of("desh")
    assert set(ascent) == {0, 2, 5, 7, 11}
    assert set(ascent) | {10} <= set(whole)
    assert ladders_of("a raga of one's own") == ()


def test_likeness_is_told_in_words() -> None:
    assert like().alike_words == "melody 93 %, tabla 88 %"
    assert like(melody=0.0).alike_words == "tabla 88 %"
    assert like().moved_words == ""
    assert like(moved="steps", by=1).moved_words == "1 step higher"
    assert like(moved="semitones", by=-5).moved_words == "5 semitones lower"
    assert like(moved="semitones", by=-12).moved_words == "an octave lower"
    assert like(moved="semitones", by=24).moved_words == "2 octaves higher"
    assert like().laya_words == "the same pace"
    assert like(matras_ratio=Fraction(1, 2), pace=1.9).laya_words == "1/2 the matras, 1.90 times as quick"
    assert like(matras_ratio=None, pace=None).laya_words == ""
    assert place_words(like()) == "avartan 3, matra 5 of Teental"
    assert place_words(like(matra=16.98)) == "avartan 4, matra 1 of Teental"
    assert place_words(like(cycle=None, matra=None, tala="")) == ""
