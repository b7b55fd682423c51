"""Making a pack: its files in a folder beside its place, then all of it moved there whole."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from dataclasses import replace as replace_in
from fractions import Fraction
from pathlib import Path

from annotate.archive import Archive
from annotate.exchange.errors import CannotExport
from annotate.exchange.midi_keys import sa_key
from annotate.exchange.musicxml_out import musicxml
from annotate.exchange.score import Score
from annotate.exchange.score_midi import score_midi
from annotate.practice.packs.chapters import write_exercises
from annotate.practice.packs.contents import Pack, PackedPiece, PackedSound, files_of, listing
from annotate.practice.packs.errors import NothingToPack
from annotate.practice.packs.names import INDEX, LISTING, NOTES, PAGE, SHEETS, SOUNDS, stem_of
from annotate.practice.packs.notation import score_of
from annotate.practice.packs.page import beside, index_page
from annotate.practice.packs.whose import performance_of
from annotate.practice.packs.wishes import PackWishes
from annotate.practice.packs.work import Came, Job, Left, MadeSheet, SheetJob, SoundJob, do
from annotate.practice.packs.workers import each_done
from annotate.practice.packs.writing import put, require_place, unfinished
from annotate.practice.pieces import Piece
from annotate.practice.sheets.wishes import SheetWishes
from annotate.practice.sounds.wishes import SoundWishes
from theory.numbers import spoken

AS_PLAYED, FROM_NOTATION = "As played", "From the notation"
LEAST_COUNT_IN = 4
"""Matras, or a vibhag where that is longer: with an avartan before every sound a pack would be a third larger."""
USUAL_LAYA = Fraction(60)
"""Matras a minute where none is known."""
SHEET_OF_ALL = "all-pieces"


@dataclass(frozen=True)
class Made:
    """A pack in its place: how many bytes it has (of a folder, its files), and in sentences what it lacks and why."""

    place: Path
    pack: Pack
    size: int
    lacks: tuple[str, ...]


def make_pack(
    archive: Archive,
    pieces: Sequence[Piece],
    wishes: PackWishes,
    place: Path,
    *,
    replace: bool = False,
    workers: int = 2,
    tell: Callable[[float], None] = lambda _share: None,
) -> Made:
    """Make a pack.

    Parameters
    ----------
    archive : Archive
    pieces : sequence of Piece
        In the order in which they are to stand.
    wishes : PackWishes
    place : Path
        Where it goes: a folder, or if the name ends so a zip, or one page (.html) with all of it within.
    replace : bool
        Whether a pack that is there already gives way to it.
    workers : int
        How many processes work on it.
    tell : callable
        Told the share done, 0 to 1.

    Raises
    ------
    NothingToPack
        No piece is named.
    PackPlaceTaken, CannotWritePack
        It cannot be put there. What was there is as it was, and nothing is left of the new one.
    """
    if not pieces:
        raise NothingToPack("A pack of what? Name tihais with --tihais desh-gat/t01,t03 or phrases with --phrases.")
    require_place(place, replace=replace)
    with unfinished(place) as folder:
        for name in (PAGE, SHEETS, SOUNDS, NOTES):
            (folder / name).mkdir()
        jobs = [*_sheets(archive, pieces, wishes, folder), *_sounds(archive, pieces, wishes, folder)]
        came: dict[int, Came] = {}
        for number, result in each_done(do, jobs, workers):
            came[number] = result
            tell(len(came) / len(jobs))
        results = [(job, came[number]) for number, job in enumerate(jobs)]
        pack, lacks = _put_together(archive, pieces, wishes, folder, results)
        write_exercises(wishes.chapters, folder, wishes.sheet)
        page = index_page(pack, wishes.sheet.script)
        (folder / INDEX).write_text(page, "utf-8")
        for name, content in beside(page).items():
            (folder / PAGE / name).write_bytes(content)
        (folder / LISTING).write_text(listing(pack, folder), "utf-8")
        size = sum(path.stat().st_size for _, path in files_of(folder))
        put(folder, place, replace=replace)
    return Made(place, pack, place.stat().st_size if place.is_file() else size, lacks)


def _sheets(archive: Archive, pieces: Sequence[Piece], wishes: PackWishes, folder: Path) -> list[Job]:
    """A sheet of each piece, and where there is more than one page one of all, with the raga if that was asked for."""
    together = replace_in(wishes.sheet, licence=wishes.licence.line)
    single = replace_in(together, raga="")
    named: list[tuple[str, tuple[str, ...], SheetWishes]] = [
        (stem_of(each), (each.address,), single) for each in pieces
    ]
    if len(pieces) > 1 or wishes.sheet.raga:
        named.append((SHEET_OF_ALL, tuple(each.address for each in pieces), together))
    return [
        SheetJob(
            archive.store.place, of, how, folder, f"{SHEETS}/{stem}.html", f"{SHEETS}/{stem}.pdf" if wishes.pdf else ""
        )
        for stem, of, how in named
    ]


def _sounds(archive: Archive, pieces: Sequence[Piece], wishes: PackWishes, folder: Path) -> list[Job]:
    jobs: list[Job] = []
    for each in pieces:
        base = SoundWishes(rounds=1, count_in=_count_in(each), licence=wishes.licence.line, mono=True)
        laya = Fraction(round(each.per_minute)) if each.per_minute else USUAL_LAYA
        wanted = [("played", AS_PLAYED, speed, replace_in(base, speeds=(speed,))) for speed in wishes.speeds] + [
            ("notation", FROM_NOTATION, speed, replace_in(base, source="notation", layas=(laya * speed / 100,)))
            for speed in wishes.notation_speeds
        ]
        for kind, group, speed, how in wanted:
            file = f"{SOUNDS}/{stem_of(each)}-{kind}-{_in_name(speed)}.mp3"
            jobs.append(SoundJob(archive.store.place, each.address, how, folder, file, group, f"{spoken(speed)} %"))
    return jobs


def _count_in(piece: Piece) -> Fraction:
    return Fraction(0 if piece.tala is None else max(LEAST_COUNT_IN, piece.tala.vibhags[0]))


def _in_name(speed: Fraction) -> str:
    return str(speed).replace("/", "-")


def _put_together(
    archive: Archive, pieces: Sequence[Piece], wishes: PackWishes, folder: Path, results: Sequence[tuple[Job, Came]]
) -> tuple[Pack, tuple[str, ...]]:
    """Write the notation, and say what came of everything."""
    sheets = {Path(made.html).stem: made for _, made in results if isinstance(made, MadeSheet)}
    sounds: dict[str, list[PackedSound]] = {each.address: [] for each in pieces}
    for job, made in results:
        if isinstance(job, SoundJob) and isinstance(made, PackedSound):
            sounds[job.address].append(made)
    packed = []
    lacks = [made.lacks for _, made in results if isinstance(made, MadeSheet | Left) and made.lacks]
    for each in pieces:
        stem, score = stem_of(each), score_of(archive, each)
        notation, midi, lack = _notes(score, each, wishes, folder, stem)
        lacks += [lack] if lack else []
        packed.append(
            PackedPiece(
                each, score, stem, notation, midi, sheets[stem].html, sheets[stem].pdf, tuple(sounds[each.address])
            )
        )
    whole = sheets.get(SHEET_OF_ALL, MadeSheet("", ""))
    pack = Pack(wishes.title, wishes.licence, tuple(packed), whole.html, whole.pdf, wishes.chapters)
    return pack, tuple(dict.fromkeys(lacks))


def _notes(score: Score, piece: Piece, wishes: PackWishes, folder: Path, stem: str) -> tuple[str, str, str]:
    """Write a piece as MusicXML and as MIDI; return their names, and why there is no MusicXML where there is none."""
    sa, bend = (wishes.sa, 0) if wishes.sa is not None else sa_key(piece.sa_hz)
    part = "tabla" if score.system == "bols" else piece.recording.lead or "melody"
    rights = f"{performance_of(piece.recording).line}. {wishes.licence.line}"
    midi = f"{NOTES}/{stem}.mid"
    (folder / midi).write_bytes(score_midi(score, part, sa=sa, bend=bend, rights=rights))
    hand = wishes.sheet.hand if score.system != "bols" else None
    try:
        text = musicxml(score, part, sa=sa, hand=hand, rights=rights)
    except CannotExport as error:
        return "", midi, f"{piece.address}, MusicXML: {error}"
    notation = f"{NOTES}/{stem}.musicxml"
    (folder / notation).write_text(text, "utf-8")
    return notation, midi, ""
