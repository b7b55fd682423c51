"""The jobs of which a pack is made, each of which a process of its own can do: a sound, a sheet.

A sound is written as MP3 and once more as a script with the same bytes in base64, for the player.
"""

from __future__ import annotations

import base64
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import TypeAlias

from annotate.archive import Archive
from annotate.practice.errors import CannotPrint, CannotSound
from annotate.practice.packs.contents import PackedSound, Part
from annotate.practice.packs.notation import score_of
from annotate.practice.pieces import Piece, piece
from annotate.practice.sheets.wishes import SheetWishes
from annotate.practice.sounds.wishes import SoundMade, SoundWishes
from theory.tihai import Tihai

_TIME = "SOURCE_DATE_EPOCH"
FIRST_DAY_S = "315532800"
"""1 January 1980 in seconds from 1970: the first day that a zip can tell."""


@dataclass(frozen=True)
class SoundJob:
    """A sound of a piece: where its archive is, what is wished for, and its name in the pack's folder."""

    archive: str
    address: str
    wishes: SoundWishes
    folder: Path
    file: str
    group: str
    words: str


@dataclass(frozen=True)
class SheetJob:
    """A sheet of pieces, and its names in the pack's folder; ``pdf`` is '' where none is wanted."""

    archive: str
    addresses: tuple[str, ...]
    wishes: SheetWishes
    folder: Path
    html: str
    pdf: str


@dataclass(frozen=True)
class MadeSheet:
    """A sheet's files; ``pdf`` is '' where none could be made, and ``lacks`` says why."""

    html: str
    pdf: str
    lacks: str = ""


@dataclass(frozen=True)
class Left:
    """A sound that could not be made, and why."""

    lacks: str


Job: TypeAlias = SoundJob | SheetJob
Came: TypeAlias = PackedSound | MadeSheet | Left


def do(job: Job) -> Came:
    """Do a job; a sound or a PDF that cannot be made is told, and does not stop the others."""
    return _sound(job) if isinstance(job, SoundJob) else _sheet(job)


@lru_cache(maxsize=1)
def _archive(place: str) -> Archive:
    return Archive.open(place)


def _sheet(job: SheetJob) -> MadeSheet:
    from annotate.practice.sheets import sheet_html, sheet_pdf

    archive = _archive(job.archive)
    pieces = tuple(piece(archive, address) for address in job.addresses)
    (job.folder / job.html).write_text(sheet_html(archive, pieces, job.wishes), "utf-8")
    if not job.pdf:
        return MadeSheet(job.html, "")
    try:
        with _fonts_of_the_first_day():
            pdf = sheet_pdf(archive, pieces, job.wishes)
        (job.folder / job.pdf).write_bytes(pdf)
    except CannotPrint as error:
        return MadeSheet(job.html, "", str(error))
    return MadeSheet(job.html, job.pdf)


@contextmanager
def _fonts_of_the_first_day() -> Iterator[None]:
    """Let the fonts within a PDF bear a time that is always the same, so that the same sheet is the same file.

    What cuts them to size asks this variable (reproducible-builds.org, SOURCE_DATE_EPOCH specification).
    """
    before = os.environ.get(_TIME)
    os.environ[_TIME] = before or FIRST_DAY_S
    try:
        yield
    finally:
        if before is None:
            del os.environ[_TIME]


def _sound(job: SoundJob) -> PackedSound | Left:
    from annotate.practice.sounds import write_sound

    archive = _archive(job.archive)
    of = piece(archive, job.address)
    path = job.folder / job.file
    try:
        made = write_sound(archive, of, job.wishes, path)
    except CannotSound as error:
        return Left(f"{job.address}, {job.group.lower()}: {error}")
    script = str(Path(job.file).with_suffix(".js").as_posix())
    (job.folder / script).write_text(
        f"soundArrived({json.dumps(path.stem)}, {json.dumps(base64.b64encode(path.read_bytes()).decode())});\n", "utf-8"
    )
    return PackedSound(
        job.file,
        script,
        job.group,
        job.words,
        made.duration_s,
        tuple(_parts(made)),
        tuple(_places(archive, of, job.wishes, made)),
    )


def _parts(made: SoundMade) -> Iterator[Part]:
    """The whole first, then what lies within the first round; the landing lasts until the round ends."""
    whole = next(each for each in made.parts if each.kind == "round")
    yield Part(whole.begin_s, whole.end_s, "whole")
    within = [each for each in made.parts if each.begin_s >= whole.begin_s - 1e-9 and each.begin_s < whole.end_s]
    dams = sum(each.kind == "dam" for each in within)
    for each in within:
        if each.kind == "palla":
            yield Part(each.begin_s, each.end_s, " ".join(each.words.split()[:2]))
        elif each.kind == "dam":
            yield Part(each.begin_s, each.end_s, " ".join(each.words.split()[:2]) if dams > 1 else "dam")
        elif each.kind == "landing":
            rings_on = whole.end_s - each.end_s > 1e-3
            yield Part(each.begin_s, whole.end_s, "landing avartan" if rings_on else "landing")


def _places(archive: Archive, of: Piece, wishes: SoundWishes, made: SoundMade) -> Iterator[tuple[Fraction, float]]:
    """Where known places of the piece stand in its sound: its pallas and landing, else the ends of the round."""
    pallas = [each for each in made.parts if each.kind == "palla"]
    landing = next((each for each in made.parts if each.kind == "landing"), None)
    score = score_of(archive, of)
    if isinstance(of.unit, Tihai) and score.lands is not None and landing is not None and len(pallas) >= of.unit.times:
        yield from zip(of.unit.statement_onsets, (each.begin_s for each in pallas), strict=False)
        if score.lands > of.unit.statement_onsets[-1]:
            yield score.lands, landing.begin_s
        return
    whole = next(each for each in made.parts if each.kind == "round")
    if score.tala is None or of.per_minute is None:
        yield Fraction(0), whole.begin_s
        yield score.length, whole.end_s
        return
    # from sam to sam: as many avartans as come nearest to the laya
    slower = float(100 / wishes.speeds[0]) if wishes.source == "recording" else of.per_minute / float(wishes.layas[0])
    matras = (whole.end_s - whole.begin_s) * of.per_minute / 60 / slower
    avartans = max(1, round(matras / score.tala.matras))
    yield 1 - score.start, whole.begin_s
    yield 1 - score.start + avartans * score.tala.matras, whole.end_s
