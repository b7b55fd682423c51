"""JAMS, held against the schema that the package ``jams`` publishes."""

from __future__ import annotations

import json
import warnings
from importlib.util import find_spec
from pathlib import Path

import pytest
from click.testing import CliRunner

from annotate.archive import Archive
from annotate.exchange.jams_out import jams
from annotate.revisions import add
from layakosh import main
from tests.annotate.desk import SAMS_S, SLUG, at, phrase, tihai


def test_a_file_fits_the_published_schema_and_holds_every_row(archive: Archive, tmp_path: Path) -> None:
    validator = pytest.importorskip("jsonschema").Draft4Validator
    package = find_spec("jams")
    assert package is not None
    assert package.origin is not None
    schemata = Path(package.origin).parent / "schemata"
    archive.commit(SLUG, [add(tihai()), add(phrase())], "test", "two rows")
    file = tmp_path / "evening.jams"
    result = CliRunner().invoke(main, ["export", SLUG, str(file), "--as", "jams", "--archive", str(archive.path)])
    assert result.exit_code == 0, result.output
    told = json.loads(file.read_text("utf-8"))
    validator(json.loads((schemata / "jams_schema.json").read_text("utf-8"))).validate(told)
    folders = {
        "beat_position": "beat/position",
        "beat": "beat/beat",
        "segment_open": "segment/open",
        "tag_open": "tag/open",
    }
    for each in told["annotations"]:
        namespace = json.loads((schemata / f"namespaces/{folders[each['namespace']]}.json").read_text("utf-8"))
        for observation in each["data"]:
            validator(namespace[each["namespace"]]["value"]).validate(observation["value"])
    beats, sams, sections, tihais, phrases = told["annotations"]
    assert len(beats["data"]) == len(archive.grid(SLUG).rows())
    sixth = next(each for each in beats["data"] if each["value"]["measure"] == 2 and each["value"]["position"] == 6)
    assert sixth["time"] == pytest.approx(at(2, 6), abs=1e-9)
    assert [each["time"] for each in sams["data"]] == list(SAMS_S)
    assert [each["value"] for each in sections["data"]] == ["alap", "gat"]
    assert tihais["sandbox"]["layakosh"]["rows"][0]["dam"] == "1/1"
    assert (phrases["data"][0]["time"], phrases["data"][0]["duration"]) == (20.0, 2.0)


def test_the_schema_refuses_a_file_with_a_negative_time(archive: Archive) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    package = find_spec("jams")
    assert package is not None
    assert package.origin is not None
    schema = json.loads((Path(package.origin).parent / "schemata/jams_schema.json").read_text("utf-8"))
    told = json.loads(jams(archive.state(SLUG), archive.grid(SLUG)))
    told["annotations"][0]["data"][0]["time"] = -1.0
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft4Validator(schema).validate(told)


def test_the_package_jams_reads_the_file_and_finds_it_valid(archive: Archive, tmp_path: Path) -> None:
    archive.commit(SLUG, [add(tihai()), add(phrase())], "test", "two rows")
    file = tmp_path / "evening.jams"
    file.write_text(jams(archive.state(SLUG), archive.grid(SLUG)), "utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of what the package itself imports
        package = pytest.importorskip("jams")
        read = package.load(str(file), validate=True, strict=True)
    (sams,) = read.search(namespace="^beat$")
    assert [observation.time for observation in sams.data] == list(SAMS_S)
    assert [observation.value for observation in sams.data] == [1] * len(SAMS_S)
    tags = read.search(namespace="tag_open")
    assert [observation.value for each in tags for observation in each.data] == ["S R G m P", "R m P"]
