"""The commands of exchange as a user meets them: export, load --from, score."""

from __future__ import annotations

import csv
import io
import json
import os
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from annotate.cells import TABLES
from annotate.revisions import add
from layakosh import main
from tests.annotate.desk import SLUG, fingerprint, make_archive, phrase, tihai

PUBLISHED = Path(__file__).parent / "data/puriya_sitar_concert"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    made = make_archive(tmp_path)
    made.commit(SLUG, [add(tihai(label="five")), add(phrase())], "test", "rows")
    return made


def run(archive: Archive, *arguments: str) -> Result:
    return CliRunner().invoke(main, [*arguments, "--archive", str(archive.path)])


def test_every_table_that_is_exported_is_loaded_back_without_a_change(archive: Archive, tmp_path: Path) -> None:
    before = fingerprint(archive)
    options = []
    for table in TABLES:
        file = tmp_path / f"{table}.csv"
        result = run(archive, "export", SLUG, str(file), "--as", "csv", "--table", table)
        assert result.exit_code == 0, result.output
        options += [f"--{table}", str(file)]
    result = run(archive, "load", SLUG, *options)
    assert result.exit_code == 0, result.output
    assert "sams: 0 new, 0 corrected, 11 already there" in result.output
    assert fingerprint(archive) == before


def test_the_same_rows_fill_a_new_recording_signed_by_who_loads_them(archive: Archive, tmp_path: Path) -> None:
    file = tmp_path / "evening.jams"
    assert run(archive, "export", SLUG, str(file), "--as", "jams").exit_code == 0
    result = run(archive, "load", "Copy", "--from", str(file), "--who", "asha", "--title", "A copy", "--json")
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert (told["recording"], told["sections"], told["sams"], told["tihais"], told["phrases"]) == ("copy", 2, 11, 1, 1)
    assert told["loaded"]["tihais"] == {"came": 1, "new": 1, "corrected": 0, "already there": 0}
    assert [each.who for each in archive.state("copy").tihais] == ["asha"]
    revision = archive.history("copy")[-1]
    assert (len(archive.history("copy")), revision.who, revision.why) == (1, "asha", "loaded from evening.jams")


def test_a_look_ahead_says_what_would_be_written_and_writes_nothing(archive: Archive, tmp_path: Path) -> None:
    file = tmp_path / "labels.txt"
    file.write_text("20\t26\ttihai in the gat\n18\t26\ttihai t01: S R G m P (five)\n34\t34\tsam 99 (tracked)\n")
    before = fingerprint(archive)
    result = run(archive, "load", SLUG, "--from", str(file), "--dry-run")
    assert result.exit_code == 0, result.output
    assert result.output.splitlines() == [
        "tihais: 1 new, 0 corrected, 1 already there",
        "passed over: 1 tracked sams",
        "  add tihai: t02, 20.0, 26.0, teental, within, 1/1, proposed, in the gat",
        "evening: nothing was written (--dry-run).",
    ]
    assert fingerprint(archive) == before
    assert json.loads(run(archive, "load", SLUG, "--from", str(file), "--dry-run", "--json").stdout)["written"] is False


def test_a_file_whose_name_is_no_text_is_loaded_all_the_same(archive: Archive, tmp_path: Path) -> None:
    file = tmp_path / os.fsdecode(b"caf\xe9.txt")
    file.write_text("20\t26\ttihai one\n")
    result = run(archive, "load", SLUG, "--from", str(file))
    assert result.exit_code == 0, result.output
    assert archive.history(SLUG)[-1].why == "loaded from caf\ufffd.txt"


def test_a_look_ahead_makes_no_archive(tmp_path: Path) -> None:
    file = tmp_path / "labels.txt"
    file.write_text("0\t10\tsection Alap\n")
    arguments = ["load", "new", "--from", str(file), "--dry-run", "--archive", str(tmp_path / "none")]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 2
    assert not (tmp_path / "none").exists()


def test_one_bad_line_keeps_all_of_a_file_out(archive: Archive, tmp_path: Path) -> None:
    file = tmp_path / "labels.txt"
    file.write_text("20\t26\ttihai one\n27\t26.5\ttihai two\n")
    before = fingerprint(archive)
    result = run(archive, "load", SLUG, "--from", str(file))
    assert result.exit_code == 2
    assert "labels.txt, row 2, column end: 26.5 comes before the start, 27" in result.stderr
    assert fingerprint(archive) == before


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        (["load", SLUG], "a file with --from"),
        (["load", SLUG, "--from", "F", "--sams", "F"], "either tables, or one file"),
        (["load", SLUG, "--sams", "F", "--table", "sams"], "go with --from"),
        (["export", SLUG, "x", "--as", "csv"], "Say which table"),
        (["export", SLUG, "x", "--as", "csv", "--table", "sams", "--table", "grid"], "Say which table"),
        (["export", SLUG, "x", "--as", "jams", "--table", "sams"], "takes all of it"),
        (["export", SLUG, "x", "--as", "labels", "--table", "grid"], "The grid goes into"),
    ],
)
def test_options_that_do_not_go_together_are_named(
    archive: Archive, tmp_path: Path, arguments: list[str], complaint: str
) -> None:
    file = tmp_path / "f.txt"
    file.write_text("1\t2\tx\n")
    result = run(archive, *[str(file) if each == "F" else each for each in arguments])
    assert result.exit_code == 2
    assert complaint in " ".join(result.output.split())


def test_labels_of_one_table_alone(archive: Archive, tmp_path: Path) -> None:
    file = tmp_path / "a.txt"
    assert run(archive, "export", SLUG, str(file), "--as", "labels", "--table", "phrases").exit_code == 0
    assert file.read_text() == "20.000000\t22.000000\tphrase p01: R m P (mukhra)\n"


def test_a_place_that_cannot_be_written_is_named(archive: Archive, tmp_path: Path) -> None:
    result = run(archive, "export", SLUG, str(tmp_path / "no" / "a.txt"), "--as", "labels")
    assert result.exit_code == 2
    assert "cannot be written: No such file or directory" in " ".join(result.stderr.split())


@pytest.mark.parametrize("form", ["labels", "webvtt", "jams"])
def test_the_published_concert_goes_out_and_comes_back(tmp_path: Path, form: str) -> None:
    # Puriya on sitar: sections, sams and events as published; see tests/data/puriya_sitar_concert/README.md
    archive = Archive.create(tmp_path / "archive")
    tables = ["--sections", "sections.csv", "--sams", "sam.csv", "--tihais", "events.csv"]
    files = [str(PUBLISHED / each) if each.endswith(".csv") else each for each in tables]
    result = run(archive, "load", "puriya", *files, "--raga", "Puriya")
    assert result.exit_code == 0, result.output
    file = tmp_path / f"concert.{ {'labels': 'txt', 'webvtt': 'vtt', 'jams': 'jams'}[form] }"
    assert run(archive, "export", "puriya", str(file), "--as", form).exit_code == 0
    before = fingerprint(archive)
    again = json.loads(run(archive, "load", "puriya", "--from", str(file), "--json").stdout)
    assert all(each["new"] == each["corrected"] == 0 for each in again["loaded"].values())
    assert fingerprint(archive) == before
    assert run(archive, "load", "copy", "--from", str(file)).exit_code == 0
    one, two = archive.state("puriya"), archive.state("copy")
    assert len(two.marked_sams) == len(one.marked_sams) > 200
    error_s = 0.0 if form == "jams" else 0.51e-3 if form == "webvtt" else 0.51e-6
    for found, wanted in (
        ([each.sam_s for each in two.marked_sams], [each.sam_s for each in one.marked_sams]),
        ([each.landing_s for each in two.tihais], [each.landing_s for each in one.tihais]),
        ([each.end_s for each in two.sections], [each.end_s for each in one.sections]),
    ):
        np.testing.assert_allclose(found, wanted, rtol=0, atol=error_s)
    assert [each.tala for each in two.sections] == [each.tala for each in one.sections]


def test_the_grid_that_is_exported_is_every_matra_to_the_last_digit(archive: Archive, tmp_path: Path) -> None:
    file = tmp_path / "grid.csv"
    assert run(archive, "export", SLUG, str(file), "--as", "csv", "--table", "grid").exit_code == 0
    rows = list(csv.DictReader(io.StringIO(file.read_text())))
    assert [float(row["matra_s"]) for row in rows] == archive.grid(SLUG).rows()["matra_s"].tolist()
    result = run(archive, "load", SLUG, "--sams", str(file))
    assert "sams: 0 new, 11 corrected, 0 already there" in result.output  # their avartans are numbered now
