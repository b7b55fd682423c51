"""``layakosh pack`` as somebody types it: what it makes, what it says, and what it refuses before it begins."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from annotate.archive import Archive
from commands.showing_progress import spoken_bytes
from layakosh import main
from tests.annotate.practice.packs.test_contents import told
from tests.dashboard.conftest import SLUG, build_archive

QUICK = ("--speeds", "none", "--notation-speeds", "none", "--no-pdf", "--workers", "1")


@pytest.fixture(scope="module")
def concert(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    return build_archive(tmp_path_factory.mktemp("packing") / "archive")


def pack(concert: Archive, to: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["pack", *words, "--archive", concert.store.place, "--to", str(to)])


def test_it_says_where_the_pack_is_and_how_to_use_it(concert: Archive, tmp_path: Path) -> None:
    words = ["Tihais in Rupak", "--tihais", f"{SLUG}/t01,t02", "--phrases", f"{SLUG}/p02", "--licence", "students"]
    run = pack(concert, tmp_path, *words, *QUICK)
    assert run.exit_code == 0, run.output
    assert run.stdout.startswith(f"{tmp_path / 'tihais-in-rupak'}: 3 pieces, 0 sounds, ")
    assert "All rights reserved: for my students only.\nTo use it, open its index.html in a browser." in run.stdout
    listing = told(tmp_path / "tihais-in-rupak")
    assert [piece["piece"] for piece in listing["pieces"]] == [f"{SLUG}/{key}" for key in ("t01", "t02", "p02")]
    assert listing["title"] == "Tihais in Rupak"


def test_without_a_licence_page_and_command_line_say_what_that_means(concert: Archive, tmp_path: Path) -> None:
    run = pack(concert, tmp_path, "Few", "--tihais", f"{SLUG}/t01", "--zip", *QUICK)
    assert run.exit_code == 0, run.output
    assert "unpack it, then open index.html" in run.stdout
    assert "No licence was given, so the pack says that copying is not allowed." in run.stderr
    assert "--licence: CC0-1.0, CC-BY-4.0" in run.stderr
    assert f"0 sounds, {spoken_bytes((tmp_path / 'few.zip').stat().st_size)}." in run.stdout
    with zipfile.ZipFile(tmp_path / "few.zip") as packed:
        assert "copying is not allowed" in packed.read("few/index.html").decode()


def test_one_page_for_phones_holds_everything(concert: Archive, tmp_path: Path) -> None:
    run = pack(concert, tmp_path, "Few", "--tihais", f"{SLUG}/t01", "--one-page", *QUICK)
    assert run.exit_code == 0, run.output
    assert "To use it, open it in a browser." in run.stdout
    assert [path.name for path in tmp_path.iterdir()] == ["few.html"]
    both = pack(concert, tmp_path, "Few", "--tihais", f"{SLUG}/t01", "--one-page", "--zip", *QUICK)
    assert (both.exit_code, "Either --zip or --one-page." in both.stderr) == (2, True)


def test_in_json_it_tells_the_same(concert: Archive, tmp_path: Path) -> None:
    run = pack(concert, tmp_path, "Few", "--tihais", f"{SLUG}/t01", "--licence", "cc0-1.0", "--json", *QUICK)
    found = json.loads(run.stdout)
    assert found.pop("bytes") == sum(path.stat().st_size for path in (tmp_path / "few").rglob("*") if path.is_file())
    assert found == {
        "place": str(tmp_path / "few"),
        "pieces": [f"{SLUG}/t01"],
        "sounds": 0,
        "licence": "CC0-1.0",
        "lacks": [],
    }


def test_raga_tuning_and_sa_reach_sheets_and_notation(concert: Archive, tmp_path: Path) -> None:
    music21 = pytest.importorskip("music21.converter")
    words = [
        "Few",
        "--tihais",
        f"{SLUG}/t01",
        "--raga",
        "desh",
        "--tuning",
        "G,D,A,E",
        "--sa",
        "D4",
        "--script",
        "devanagari",
    ]
    run = pack(concert, tmp_path, *words, *QUICK)
    assert run.exit_code == 0, run.output
    place = tmp_path / "few"
    score = music21.parse(str(place / f"notes/{SLUG}-t01.musicxml"))
    assert score.parts[0].flatten().notes[0].pitch.nameWithOctave == "E4"  # R above Sa on D
    assert len(score.parts) == 2  # five lines, and tab
    assert "Desh" in (place / "sheets/all-pieces.html").read_text("utf-8")
    assert 'lang="hi"' in (place / "index.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["Few"], "A pack of what? Name tihais with --tihais"),
        (["Few", "--tihais", f"{SLUG}/t09"], "t09"),
        (["Few", "--tihais", "nowhere/t01"], "nowhere"),
        (["Few", "--tihais", f"{SLUG}/t01", "--licence", "CC-BY"], "'CC-BY' is no licence that is known"),
        (["Few", "--tihais", f"{SLUG}/t01", "--speeds", "slow"], "--speeds: 'slow' is no speed. Write percents"),
        (["Few", "--tihais", f"{SLUG}/t01", "--speeds", "120"], "--speeds: a speed is 25 to 100 percent, not 120."),
        (["Few", "--tihais", f"{SLUG}/t01", "--sa-fret", "3"], "go with --tuning"),
    ],
)
def test_what_cannot_be_made_is_refused_with_words_and_leaves_nothing(
    concert: Archive, tmp_path: Path, words: list[str], said: str
) -> None:
    run = pack(concert, tmp_path, *words)
    assert run.exit_code == 2
    assert said in run.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_raga_that_nobody_knows_is_told_and_leaves_nothing(concert: Archive, tmp_path: Path) -> None:
    run = pack(concert, tmp_path, "Few", "--tihais", f"{SLUG}/t01", "--raga", "deshh", *QUICK)
    assert run.exit_code == 2
    assert "desh" in run.stderr.lower()
    assert list(tmp_path.iterdir()) == []
