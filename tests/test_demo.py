"""The whole main job on the sample performances: from sound to verdicts, against the truth the renderer wrote down."""

from __future__ import annotations

import csv
import io
import json
import re
from fractions import Fraction
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


def test_pandas_duckdb_and_polars_read_the_same_from_the_index_as_the_readme_shows(
    archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    section = readme.partition("## The index in other programs")[2].partition("\n## ")[0]
    snippets = re.findall(r"```python\n(.*?)```", section, re.DOTALL)
    verdicts = json.loads(run(archive, "verify", "--json"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "demo-archive").symlink_to(archive)
    run(archive, "find-tihais")  # brings the index up to date
    answers, tihais = [], None
    for snippet in snippets:
        names: dict[str, object] = {}
        exec(snippet, names)
        tihais = names["tihais"] if tihais is None else tihais
        answers.append({row["raga"]: int(row["landed"]) for row in rows_of(names["landed"])})
    assert len(answers) == 3
    landed = [verdict["recording"].partition("-")[0] for verdict in verdicts if verdict["verdict"] == "lands"]
    assert answers == [{raga: landed.count(raga) for raga in sorted(set(landed))}] * 3
    assert tihais["start_matras"].tolist() == [float(Fraction(text)) for text in tihais["start"]]


def rows_of(frame: object) -> list[dict[str, object]]:
    """Rows of a frame of pandas or polars."""
    return frame.to_dicts() if hasattr(frame, "to_dicts") else frame.to_dict("records")  # type: ignore[attr-defined]


def test_of_the_tihais_played_in_the_samples_at_least_three_in_four_are_among_twice_as_many_proposals(
    archive: Path,
) -> None:
    """The samples were not learnt from; 11 of 13 when this was written, one of them read to land where it misses."""
    among = played = 0
    for slug, (name, _matras) in CONCERTS.items():
        known = {row["tihai"] for row in truth(name, "tihais")}
        proposed = json.loads(run(archive, "propose", slug, "--all", "--top", str(2 * len(known)), "--json"))
        among += len({each["tihai"] for each in proposed} & known)
        played += len(known)
        assert proposed[0]["tihai"] in known
    assert played == 13
    assert among >= 10
