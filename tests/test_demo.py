"""The whole main job on the sample performances: from sound to verdicts, against the truth the renderer wrote down."""

from __future__ import annotations

import csv
import io
import json
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner

from layakosh import main

CONCERTS = {"desh-gat-in-teental": ("desh_teental", 16), "bageshri-gat-in-jhaptal": ("bageshri_jhaptal", 10)}
NEAR_S = 0.030
"""Players scatter up to 15 ms about the pulse (6 ms at sam); the grid follows the strokes it hears."""


def truth(name: str, table: str) -> list[dict[str, str]]:
    text = (files("sample_data") / f"{name}_{table}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text)))


def run(archive: Path, *arguments: str) -> str:
    result = CliRunner().invoke(main, [arguments[0], "--archive", str(archive), *arguments[1:]])
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "archive"
    run(path, "demo", "--no-serve")
    return path


@pytest.mark.parametrize("slug", CONCERTS)
def test_the_demo_hears_every_sam_of_the_sample_performances_without_a_mark(archive: Path, slug: str) -> None:
    name, matras = CONCERTS[slug]
    rows = list(csv.DictReader(io.StringIO(run(archive, "grid", slug, "--csv"))))
    heard = [float(row["matra_s"]) for row in rows if row["matra"] == "1"]
    true = [float(row["sam_s"]) for row in truth(name, "sams")]
    # the last one closes the section and is not followed by an avartan
    assert len(heard) in (len(true), len(true) - 1)
    assert heard == pytest.approx(true[: len(heard)], abs=NEAR_S)
    sams = [i for i, row in enumerate(rows) if row["matra"] == "1"]
    assert {later - earlier for earlier, later in pairwise(sams)} == {matras}


@pytest.mark.parametrize("slug", CONCERTS)
def test_the_demo_verdicts_are_those_the_performances_were_made_for(archive: Path, slug: str) -> None:
    name, _ = CONCERTS[slug]
    verdicts = {verdict["tihai"]: verdict for verdict in json.loads(run(archive, "verify", slug, "--json"))}
    expected = truth(name, "verdicts")
    assert set(verdicts) == {row["tihai"] for row in expected}
    for row in expected:
        verdict = verdicts[row["tihai"]]
        assert verdict["verdict"] == row["verdict"], verdict["sentence"]
        assert verdict["paper"]["lands"] == (row["lands_on_paper"] == "true")
        assert verdict["landing_dev_ms"] == pytest.approx(float(row["landing_dev_ms"]), abs=1000 * NEAR_S)


@pytest.mark.parametrize("slug", CONCERTS)
def test_the_demo_finds_where_the_tabla_begins(archive: Path, slug: str) -> None:
    (concert,) = [each for each in json.loads(run(archive, "concerts", "--json")) if each["recording"] == slug]
    begins_s = float(truth(CONCERTS[slug][0], "sections")[-1]["start_s"])
    rows = list(csv.DictReader(io.StringIO(run(archive, "grid", slug, "--csv"))))
    assert concert["sections"] == 2
    assert float(rows[0]["matra_s"]) == pytest.approx(begins_s, abs=2.0)  # the target of step 3 for a boundary


def test_the_demo_run_again_takes_nothing_in_twice(archive: Path) -> None:
    before = sorted(archive.rglob("revisions/*"))
    run(archive, "demo", "--no-serve")
    assert sorted(archive.rglob("revisions/*")) == before
