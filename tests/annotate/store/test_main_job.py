"""The whole main job on an archive in an object store, by commands in processes of their own, as a user does it."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from importlib.resources import as_file, files
from pathlib import Path

import duckdb
import pytest
import soundfile

from annotate.archive import Archive
from annotate.store.opening import store_at
from dashboard.app import make_app

LENGTH_S, SLUG = 80.0, "evening-raga"


def layakosh(*arguments: str) -> str:
    done = subprocess.run([sys.executable, "-m", "layakosh", *arguments], capture_output=True, text=True, timeout=240)
    assert done.returncode == 0, done.stderr
    return done.stdout


def rows_of(table: str) -> list[dict[str, str]]:
    text = (files("sample_data") / f"desh_teental_{table}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def test_a_recording_is_taken_in_marked_found_and_played(bucket: str, tmp_path: Path) -> None:
    with as_file(files("sample_data") / "desh_teental.ogg") as sample:
        tape = tmp_path / "evening_raga.flac"  # its beginning
        sound, rate_hz = soundfile.read(sample)
        soundfile.write(tape, sound[: int(LENGTH_S * rate_hz)], rate_hz)
    there = ("--archive", bucket)
    said = layakosh("ingest", str(tape), "--raga", "Desh", "--tala", "teental", "--quiet", *there)
    assert said.split() == [SLUG]
    true_s = [float(row["sam_s"]) for row in rows_of("sams") if float(row["sam_s"]) < LENGTH_S - 1]
    layakosh("sam", SLUG, str(true_s[1]), *there)
    matras = json.loads(layakosh("grid", SLUG, "--json", *there))
    heard_s = [row["matra_s"] for row in matras if row["matra"] == 1]
    assert heard_s[: len(true_s)] == pytest.approx(true_s, abs=0.03)  # as tests/test_demo.py asks of the whole
    tihai = rows_of("tihais")[1]
    starts = ",".join(tihai[name] for name in ("start_s", "second_s", "third_s"))
    sum_ = ("--palla", tihai["palla"], "--dam", tihai["dam"], "--start", tihai["start"])
    layakosh("tihai", SLUG, "--starts", starts, "--landing", tihai["landing_s"], *sum_, *there)
    layakosh("phrase", SLUG, "--from", "40", "--to", "42", "--swaras", "R m P", *there)
    (verdict,) = json.loads(layakosh("verify", "--json", *there))
    assert verdict["verdict"] == "lands"
    assert verdict["paper"]["lands"]
    (found,) = json.loads(layakosh("find-tihais", "--palla", "5", "--landing", "lands", "--json", *there))
    assert found["recording"] == SLUG
    (phrase,) = json.loads(layakosh("find-phrases", "* m P", "--json", *there))
    assert phrase["raga"] == "desh"

    again = subprocess.run(
        [sys.executable, "-m", "layakosh", "ingest", str(tape), "--raga", "Desh", "--tala", "teental", *there],
        capture_output=True,
        text=True,
    )
    assert again.returncode == 2
    assert "is already in the archive" in again.stderr

    names = [entry.name for entry in store_at(bucket).walk("index/tihais")]
    for name in names:
        (tmp_path / name.rpartition("/")[2]).write_bytes(store_at(bucket).read(name))
    count = duckdb.sql(f"select count(*) from '{tmp_path}/*.parquet' where verdict = 'lands'").fetchall()
    assert count == [(1,)]

    played = make_app(bucket).server.test_client().get(f"/sound/{SLUG}")
    assert played.status_code in (200, 206)
    copy = Archive.open(bucket).sound_path(SLUG)
    assert copy is not None
    assert soundfile.info(copy).duration == pytest.approx(LENGTH_S, abs=0.1)
    assert copy.read_bytes().startswith(played.data[:1000])
    played.close()
    assert "from the files" in layakosh("listen-again", SLUG, "--from", str(tape), *there)
    assert [each["verdict"] for each in json.loads(layakosh("verify", "--json", *there))] == ["lands"]


def test_two_processes_that_write_at_once_lose_nothing(bucket: str) -> None:
    archive = Archive.create(bucket)
    code = (
        "import sys\n"
        "from annotate.archive import Archive\n"
        "from annotate.records import PhraseRecord, Recording\n"
        "from annotate.revisions import add\n"
        "place, who = sys.argv[1:]\n"
        "archive = Archive.open(place)\n"
        "for number in range(12):\n"
        "    if number == 0 and who == 'first':\n"
        "        archive.commit('evening', [add(Recording('evening', 'Evening'))], who, '')\n"
        "        print('begun', flush=True)\n"
        "    key = f'{who}{number}'\n"
        "    print(key, archive.commit('evening', [add(PhraseRecord(key, 1.0, 2.0, 'S R'))], who, ''), flush=True)\n"
    )
    command = [sys.executable, "-c", code, bucket]
    with subprocess.Popen([*command, "first"], stdout=subprocess.PIPE, text=True) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "begun\n"
        second = subprocess.run([*command, "second"], capture_output=True, text=True, timeout=120)
        acknowledged = dict(line.split() for line in (first.stdout.read() + second.stdout).splitlines())
    assert first.returncode == 0
    assert second.returncode == 0, second.stderr
    assert len(set(acknowledged.values())) == len(acknowledged) == 24  # each has a revision of its own
    assert {phrase.phrase for phrase in archive.state("evening").phrases} == set(acknowledged)
