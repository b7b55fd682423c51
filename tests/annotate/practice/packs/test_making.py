"""A pack comes into its place whole or not at all, leaves alone what is no pack, and is the same file every time."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
import zipfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.files import STRAY_AGE_S, STRAY_PREFIX
from annotate.practice.packs.errors import CannotWritePack, NothingToPack, PackPlaceTaken
from annotate.practice.packs.making import make_pack
from annotate.practice.packs.names import folder_of, stem_of
from annotate.practice.packs.wishes import PackWishes
from annotate.practice.pieces import Piece
from annotate.practice.sheets.wishes import SheetWishes
from tests.dashboard.conftest import SLUG

ROOT = Path(__file__).parents[4]


def digests(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_without_a_piece_there_is_nothing_to_pack(concert: Archive, few: PackWishes, tmp_path: Path) -> None:
    with pytest.raises(NothingToPack, match="--tihais"):
        make_pack(concert, (), few, tmp_path / "few", workers=1)
    assert list(tmp_path.iterdir()) == []


def test_the_same_pack_is_the_same_file_every_time(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path
) -> None:
    wishes = replace(few, notation_speeds=(Fraction(150),), pdf=True)
    first, second = tmp_path / "few.zip", tmp_path / "again" / "few.zip"
    second.parent.mkdir()
    make_pack(concert, chosen[:1], wishes, first, workers=1)
    make_pack(concert, chosen[:1], wishes, second, workers=1)
    assert first.read_bytes() == second.read_bytes()


def test_a_zip_holds_one_folder_with_what_the_folder_would(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path
) -> None:
    make_pack(concert, chosen, few, tmp_path / "few", workers=1)
    make_pack(concert, chosen, few, tmp_path / "few.zip", workers=1)
    with zipfile.ZipFile(tmp_path / "few.zip") as packed:
        assert packed.testzip() is None
        assert {info.date_time for info in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        packed.extractall(tmp_path / "unpacked")
    assert digests(tmp_path / "unpacked" / "few") == digests(tmp_path / "few")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["few", "few.zip", "unpacked"]


def test_a_pack_gives_way_to_another_only_if_that_is_said(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path
) -> None:
    for place in (tmp_path / "few", tmp_path / "few.zip", tmp_path / "few.html"):
        make_pack(concert, chosen, few, place, workers=1)
        with pytest.raises(PackPlaceTaken, match="--replace"):
            make_pack(concert, chosen, few, place, workers=1)
        make_pack(concert, chosen[:1], few, place, replace=True, workers=1)
    assert len(json.loads((tmp_path / "few" / "pack.json").read_text("utf-8"))["pieces"]) == 1
    assert (tmp_path / "few.html").read_text("utf-8").count("<article") == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["few", "few.html", "few.zip"]


def test_what_is_no_pack_is_left_alone_even_then(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path
) -> None:
    (tmp_path / "few").mkdir()
    (tmp_path / "few" / "letters.txt").write_text("mine")
    (tmp_path / "few.zip").write_bytes(b"no zip")
    (tmp_path / "few.html").write_text("<!DOCTYPE html><title>Mine</title>")
    for place in (tmp_path / "few", tmp_path / "few.zip", tmp_path / "few.html"):
        with pytest.raises(PackPlaceTaken, match="no pack"):
            make_pack(concert, chosen, few, place, replace=True, workers=1)
    assert (tmp_path / "few" / "letters.txt").read_text() == "mine"
    assert (tmp_path / "few.zip").read_bytes() == b"no zip"
    assert "Mine" in (tmp_path / "few.html").read_text()
    with pytest.raises(PackPlaceTaken, match="is not there"):
        make_pack(concert, chosen, few, tmp_path / "nowhere" / "few", workers=1)


def test_an_interrupted_run_leaves_nothing_and_the_pack_before_it_as_it_was(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path
) -> None:
    place = tmp_path / "few"
    make_pack(concert, chosen, few, place, workers=1)
    before = digests(place)

    def interrupt(share: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_pack(concert, chosen[:1], few, place, replace=True, tell=interrupt, workers=1)
    assert digests(place) == before
    assert list(tmp_path.iterdir()) == [place]


def test_a_full_disk_is_told_and_leaves_nothing(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(folder: Path, name: str) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("annotate.practice.packs.making.listing", full)
    with pytest.raises(CannotWritePack, match="No space left on device"):
        make_pack(concert, chosen, few, tmp_path / "few", workers=1)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("ended_by", [signal.SIGTERM, signal.SIGINT])
def test_a_command_that_is_ended_leaves_nothing_behind(
    concert: Archive, tmp_path: Path, ended_by: signal.Signals
) -> None:
    command = [
        sys.executable,
        "-m",
        "layakosh",
        "pack",
        "Ended",
        "--tihais",
        f"{SLUG}/t01",
        "--archive",
        concert.store.place,
    ]
    running = subprocess.Popen(
        [*command, "--to", str(tmp_path)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a suite run in the background has it ignored
    )
    give_up_s = time.monotonic() + 60
    while not any(tmp_path.glob(f"{STRAY_PREFIX}*/sheets/*.html")) and time.monotonic() < give_up_s:
        assert running.poll() is None, running.communicate()
        time.sleep(0.01)
    running.send_signal(ended_by)
    _, said = running.communicate(timeout=60)
    assert running.returncode not in (0, None)
    assert b"Traceback" not in said
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_run_left_is_swept_by_the_next(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path
) -> None:
    left, new, other = (
        tmp_path / f"{STRAY_PREFIX}1-a.pack",
        tmp_path / f"{STRAY_PREFIX}2-b.pack",
        tmp_path / "mine.pack",
    )
    for folder in (left, new, other):
        (folder / "sounds").mkdir(parents=True)
    long_ago = time.time() - 2 * STRAY_AGE_S
    for folder in (left, other):
        os.utime(folder, (long_ago, long_ago))
    make_pack(concert, chosen, few, tmp_path / "few", workers=1)
    assert sorted(path.name for path in tmp_path.iterdir()) == [new.name, "few", "mine.pack"]


def test_what_one_piece_cannot_have_is_told_and_the_others_have_it(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from annotate.practice.errors import CannotPrint, CannotSound

    def no_printer(*_: object) -> bytes:
        raise CannotPrint("A PDF cannot be made on this machine.")

    def no_sound(*_: object) -> None:
        raise CannotSound("The archive keeps no sound.")

    monkeypatch.setattr("annotate.practice.sheets.sheet_pdf", no_printer)
    monkeypatch.setattr("annotate.practice.sounds.write_sound", no_sound)
    wishes = replace(few, pdf=True, speeds=(Fraction(100),))
    made = make_pack(concert, chosen[:1], wishes, tmp_path / "few", workers=1)
    assert made.lacks == (
        "A PDF cannot be made on this machine.",
        f"{SLUG}/t01, as played: The archive keeps no sound.",
    )
    (piece,) = made.pack.pieces
    assert (piece.sheet_html, piece.sheet_pdf, piece.sounds) == (f"sheets/{SLUG}-t01.html", "", ())
    assert (made.place / "index.html").exists()


def test_a_key_that_no_file_can_bear_has_a_name_of_its_own_all_the_same(chosen: tuple[Piece, ...]) -> None:
    names = {stem_of(replace(chosen[0], key=key)) for key in ("t01", "T01", "पाँच", "a/b", "..")}
    assert len(names) == 5
    assert all(name.startswith(f"{SLUG}-") and name.isascii() and "/" not in name for name in names)
    assert (folder_of("Tihais: Rāga Deś!"), folder_of("तिहाई")) == ("tihais-raga-des", "pack")


def test_devanagari_brings_a_font_with_its_signs_and_the_fonts_licence(
    concert: Archive, chosen: tuple[Piece, ...], few: PackWishes, tmp_path: Path
) -> None:
    make_pack(concert, chosen, few, tmp_path / "latin", workers=1)
    wishes = replace(few, sheet=SheetWishes(script="devanagari"))
    page = make_pack(concert, chosen, wishes, tmp_path / "devanagari", workers=1).place / "page"
    assert "data:font/woff;base64," in (page / "letters.css").read_text("utf-8")
    assert "SIL OPEN FONT LICENSE" in (page / "letters-licence.txt").read_text("utf-8")
    assert 'href="page/letters.css"' in (page.parent / "index.html").read_text("utf-8")
    assert not list((tmp_path / "latin").rglob("letters*"))
    assert "letters.css" not in (tmp_path / "latin" / "index.html").read_text("utf-8")
