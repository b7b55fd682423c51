"""What comes again and again in a recording and in a raga: places, names, and taking it up."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from annotate.errors import BadAnnotation, ConflictingEdit
from annotate.history.taking_back import undo
from annotate.recurring.across import recurring_in_raga, together
from annotate.recurring.finding import Heard, RecurringPhrase, half_matra, recurring_in
from annotate.recurring.naming import names_for
from annotate.recurring.taking_up import phrase_by_key, take_up
from layakosh import main
from tests.annotate.desk import SLUG, at, make_archive
from tests.annotate.recurring.again import MUKHRA, PAKAD, WITHOUT, again_archive
from theory.errors import UnknownName
from theory.notation import parse


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return again_archive(tmp_path)


@pytest.fixture
def heard(archive: Archive) -> Heard:
    return recurring_in(archive, SLUG)


def test_the_mukhra_is_found_in_every_avartan_that_ends_with_it_and_drafted_from_all_of_them(heard: Heard) -> None:
    mukhra = heard.phrases[0]
    assert (mukhra.kind, mukhra.text, mukhra.semitones) == ("mukhra", "m | P N S' R'", MUKHRA)
    assert [each.cycle for each in mukhra.comings] == [cycle for cycle in range(1, 11) if cycle != WITHOUT]
    assert [each.start_s for each in mukhra.comings[:2]] == pytest.approx([at(1, 12), at(2, 12)], abs=0.03)
    assert mukhra.comings[0].end_s == pytest.approx(at(2, 1), abs=0.03)
    assert mukhra.names[0].name == "mukhra of the gat"
    assert mukhra.names[0].role == "mukhra"


def test_a_phrase_of_the_alap_is_found_where_there_is_no_grid_and_named_by_the_raga(heard: Heard) -> None:
    (found,) = [each for each in heard.phrases if set(PAKAD) <= {*each.semitones} and each.kind == "phrase"]
    alap = [each for each in found.comings if each.section == ""]
    assert len(alap) == 3
    assert (alap[0].cycle, alap[0].matra) == (None, None)
    assert alap[0].start_s == pytest.approx(1.0, abs=0.3)
    (name,) = [each for each in found.names if each.name == "pakad"]
    assert name.agreement == 1.0
    assert "R m P n D P m G R" in name.why
    assert "schools and teachers differ" in name.why


def test_a_phrase_that_is_the_mukhra_is_named_so(heard: Heard) -> None:
    named = [each for each in heard.phrases if each.kind == "phrase" and set(MUKHRA) <= {*each.semitones}]
    assert named
    assert all(each.names[0].name == "mukhra of the gat" for each in named)


def test_across_a_raga_a_phrase_is_found_too_where_it_comes_once(archive: Archive) -> None:
    found = recurring_in_raga(archive, "desh")
    assert set(found.searched) == {SLUG, "morning"}
    group = next(each for each in found.groups if set(PAKAD) <= {*each.phrases[0].semitones})
    assert set(group.recordings) == {SLUG, "morning"}
    (morning,) = [each for each in group.phrases if each.recording == "morning"]
    assert morning.comings[0].start_s == pytest.approx(40 * 0.4, abs=0.9)
    with pytest.raises(UnknownName):
        recurring_in_raga(archive, "no such raga")


def test_a_recording_that_cannot_be_searched_is_named_with_the_reason(archive: Archive) -> None:
    (archive.path / "recordings" / "morning" / "evidence" / "melody.parquet").unlink()
    for follow in (True, False):
        found = recurring_in_raga(archive, "desh", follow=follow)
        assert found.searched == (SLUG,)
        assert "never followed" in found.not_searched["morning"] or "not followed" in found.not_searched["morning"]


def test_phrases_of_several_recordings_go_together_when_one_note_in_four_differs_at_most() -> None:
    def of(slug: str, *semitones: int) -> Heard:
        return Heard((RecurringPhrase(slug, "phrase", slug, semitones, (), float(len(semitones))),), None)  # type: ignore[arg-type]

    one, like, octave = of("a", 0, 2, 4, 5), of("b", 0, 2, 4, 7), of("c", 12, 14, 16, 17)
    groups = together([one, like, octave])
    assert sorted(len(each.phrases) for each in groups) == [1, 2]


def test_taking_up_writes_every_coming_once_and_one_undo_takes_all_back(archive: Archive, heard: Heard) -> None:
    mukhra = heard.phrases[0]
    before = len(archive.state(SLUG).phrases)
    taken = take_up(archive, phrase_by_key(heard, SLUG, mukhra.key), "mukhra", "asha")
    assert (len(taken.written), taken.known) == (9, 0)
    written = archive.state(SLUG).phrases
    assert {(each.swaras, each.role, each.who) for each in written} == {("m | P N S' R'", "mukhra", "asha")}
    assert parse(written[0].swaras).length == 5
    again = take_up(archive, mukhra, "mukhra", "asha")
    assert (len(again.written), again.known) == (0, 9)
    undo(archive, SLUG, "asha")
    assert len(archive.state(SLUG).phrases) == before


def test_what_is_not_found_any_more_cannot_be_taken_up(heard: Heard) -> None:
    with pytest.raises(BadAnnotation, match="not found any more"):
        phrase_by_key(heard, SLUG, "phrase||r g M d r")


def test_a_phrase_of_another_recording_is_taken_up_where_it_comes_once(archive: Archive, heard: Heard) -> None:
    key = next(each.key for each in heard.phrases if set(PAKAD) <= {*each.semitones})
    taken = take_up(archive, phrase_by_key(recurring_in(archive, "morning"), "morning", key), "pakad", "asha")
    assert [each.role for each in taken.written] == ["pakad"]
    assert taken.written[0].start_s == pytest.approx(40 * 0.4, abs=0.9)


def test_nothing_is_written_over_somebody_who_writes_at_the_same_time(
    archive: Archive, heard: Heard, monkeypatch: pytest.MonkeyPatch
) -> None:
    state = archive.state(SLUG)
    take_up(archive, heard.phrases[1], "", "bina")
    monkeypatch.setattr(archive, "state", lambda _slug: state)
    with pytest.raises(ConflictingEdit):
        take_up(archive, heard.phrases[0], "mukhra", "asha")


def test_a_recording_without_melody_or_sound_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(BadAnnotation, match="layakosh ingest"):
        recurring_in(make_archive(tmp_path), SLUG)


def test_progress_goes_up_to_the_end(archive: Archive) -> None:
    told: list[float] = []
    recurring_in(archive, SLUG, told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_names_come_from_pakad_aroha_and_avaroha_in_any_octave() -> None:
    down = names_for([24 - 2, 21, 19, 17], "desh")  # n' D' P' m'
    assert {"pakad", "part of the avaroha"} <= {each.name for each in down}
    up = names_for([7, 11, 12, 14, 17], "desh")  # P N S' R' m', past the octave
    assert [each.name for each in up] == ["part of the aroha"]
    assert up[0].agreement == 1.0
    assert names_for([1, 3, 6, 8, 1, 6], "desh") == []
    assert names_for([0, 2, 4], "no such raga") == []


def test_a_struck_again_swara_counts_once_and_what_disagrees_lowers_the_agreement() -> None:
    (exact,) = [each for each in names_for([2, 2, 5, 7, 7, 10, 9, 7, 5, 4, 2], "desh") if each.name == "pakad"]
    (less,) = [each for each in names_for([2, 5, 7, 11, 9, 7, 5, 4, 2], "desh") if each.name == "pakad"]
    assert exact.agreement == 1.0
    assert 0.75 <= less.agreement < 1.0


@pytest.mark.parametrize(("matra", "said"), [(1.0, "1"), (16.9, "1"), (9.2, "9"), (9.4, "9 1/2"), (16.6, "16 1/2")])
def test_a_matra_is_told_to_the_half(matra: float, said: str) -> None:
    assert half_matra(matra, 16) == said


def run(archive: Archive, *words: str) -> Result:
    return CliRunner().invoke(main, ["recurring", *words, "--archive", str(archive.path)])


def test_the_command_lists_takes_up_and_prints_json(archive: Archive) -> None:
    assert "m | P N S' R'" in run(archive, SLUG).stdout
    rows = json.loads(run(archive, SLUG, "--json").stdout)
    assert rows[0]["number"] == 1
    assert rows[0]["kind"] == "mukhra"
    assert rows[0]["comings"][0]["cycle"] == 1
    taken = json.loads(run(archive, SLUG, "--take-up", "1", "--json").stdout)
    assert (len(taken["written"]), taken["role"]) == (9, "mukhra")
    assert "9 were written down already" in run(archive, SLUG, "--take-up", "1", "--role", "mukhra").stdout
    assert "Morning" not in run(archive, "--raga", "desh").stdout
    across = json.loads(run(archive, "--raga", "Desh", "--json").stdout)
    assert across["searched"] == [SLUG, "morning"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "Name either a recording"),
        ([SLUG, "--raga", "desh"], "Name either a recording"),
        (["--raga", "desh", "--take-up", "1"], "--take-up goes with one recording"),
        ([SLUG, "--role", "pakad"], "--role goes with --take-up"),
        ([SLUG, "--take-up", "99"], "has"),
        (["nowhere"], "nowhere"),
    ],
)
def test_a_slip_of_the_pen_is_told(archive: Archive, words: list[str], says: str) -> None:
    result = run(archive, *words)
    assert result.exit_code == 2
    assert says in result.output
