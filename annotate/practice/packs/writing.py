"""A pack put in its place: made beside it under a name of no account, then moved there whole.

Conventions: what is unfinished is a folder whose name begins with :data:`~annotate.files.STRAY_PREFIX` and ends in
``.pack``; one that a killed run left is swept by the next. A zip has no times of its own (all files bear 1 January
1980, the first day that a zip can tell) and its files in the order of their names, so that the same pack is the same
file.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import shutil
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path

from annotate.files import STRAY_AGE_S, STRAY_PREFIX, sync_folder
from annotate.practice.packs.alone import all_in_one
from annotate.practice.packs.errors import CannotWritePack, PackPlaceTaken
from annotate.practice.packs.names import INDEX, LISTING

_PRESSED = frozenset({".html", ".js", ".json", ".css", ".musicxml", ".mid", ".txt"})
"""What becomes smaller in a zip; sounds and PDF are as small as they get."""
ZIP, ONE_PAGE = ".zip", ".html"
_MARK = b'<meta name="generator" content="Layakosh pack">'
_FIRST_DAY = (1980, 1, 1, 0, 0, 0)


def require_place(place: Path, *, replace: bool) -> None:
    """Ask whether a pack may go to a place.

    Raises
    ------
    PackPlaceTaken
        Something is there that is not to be replaced, or is no pack; or the folder around it is missing.
    """
    if not place.parent.is_dir():
        raise PackPlaceTaken(f"The folder {place.parent} is not there. Make it, or name another with --to.")
    if not (place.exists() or place.is_symlink()):
        return
    if not _is_pack(place):
        raise PackPlaceTaken(
            f"{place} is there already and is no pack, so it was left as it is. Give another name or --to."
        )
    if not replace:
        raise PackPlaceTaken(
            f"{place} is there already. Put the new pack in its place with --replace, or give another name."
        )


@contextlib.contextmanager
def unfinished(place: Path) -> Iterator[Path]:
    """Give a folder to make a pack in, beside its place; afterwards it is gone, whatever happened.

    Raises
    ------
    CannotWritePack
        The system refuses it something: a full disk, a folder that may not be written.
    """
    sweep(place.parent)
    folder = place.parent / f"{STRAY_PREFIX}{os.getpid()}-{secrets.token_hex(6)}.pack"
    try:
        folder.mkdir()
        yield folder
    except OSError as error:
        raise CannotWritePack(place, error) from error
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def put(folder: Path, place: Path, *, replace: bool) -> None:
    """Put a finished pack in its place: the folder itself, or by the place's ending all of it in a zip or in a page.

    Raises
    ------
    PackPlaceTaken
        Something has come there meanwhile.
    """
    made = folder
    if place.suffix in (ZIP, ONE_PAGE):
        made = folder.with_suffix(place.suffix)
    try:
        if place.suffix == ZIP:
            _zip(folder, made, place.stem)
        elif place.suffix == ONE_PAGE:
            made.write_text(all_in_one((folder / INDEX).read_text("utf-8"), folder), "utf-8")
        require_place(place, replace=replace)
        _move(made, place)
        sync_folder(place.parent)
    finally:
        if made is not folder:
            made.unlink(missing_ok=True)


def sweep(folder: Path) -> None:
    """Remove what runs that were killed left in a folder."""
    now = time.time()
    with contextlib.suppress(OSError):
        for entry in folder.iterdir():
            ours = entry.name.startswith(STRAY_PREFIX) and entry.suffix in (".pack", ".old", ZIP, ONE_PAGE)
            if ours and now - entry.lstat().st_mtime > STRAY_AGE_S:
                _remove(entry)


def _is_pack(place: Path) -> bool:
    """Whether a folder or a file is a pack, by its listing."""
    try:
        if place.is_dir():
            text = (place / LISTING).read_text("utf-8")
        elif place.suffix == ONE_PAGE:
            with place.open("rb") as page:
                return _MARK in page.read(2000)
        else:
            with zipfile.ZipFile(place) as packed:
                (name,) = (each for each in packed.namelist() if each.count("/") == 1 and each.endswith(f"/{LISTING}"))
                text = packed.read(name).decode()
        return "layakosh_pack" in json.loads(text)
    except (OSError, ValueError, zipfile.BadZipFile, RuntimeError, NotImplementedError):
        return False


def _move(made: Path, place: Path) -> None:
    """Move something to a place; what was there is removed when the new stands there, and put back if it does not."""
    if made.is_file() and place.is_file():
        made.replace(place)
        return
    old = made.with_suffix(".old") if place.exists() else None
    if old is not None:
        place.rename(old)
    try:
        made.rename(place)
    except OSError:
        if old is not None:
            old.rename(place)
        raise
    if old is not None:
        _remove(old)


def _remove(entry: Path) -> None:
    if entry.is_dir() and not entry.is_symlink():
        shutil.rmtree(entry, ignore_errors=True)
    else:
        entry.unlink(missing_ok=True)


def _zip(folder: Path, file: Path, inside: str) -> None:
    """Write all files of a folder into a zip, in it a folder called ``inside``."""
    with zipfile.ZipFile(file, "x") as packed:
        for path in sorted(each for each in folder.rglob("*") if each.is_file()):
            told = zipfile.ZipInfo(f"{inside}/{path.relative_to(folder).as_posix()}", _FIRST_DAY)
            told.external_attr = 0o100644 << 16
            told.compress_type = zipfile.ZIP_DEFLATED if path.suffix in _PRESSED else zipfile.ZIP_STORED
            packed.writestr(told, path.read_bytes())
    with file.open("rb") as written:
        os.fsync(written.fileno())
