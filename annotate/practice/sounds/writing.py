"""Making a practice sound: from a piece and wishes to a file of even loudness."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from annotate.archive import Archive
from annotate.practice.errors import CannotSound
from annotate.practice.pieces import Piece
from annotate.practice.sounds.as_played import Passage, grid_around, played_passages, speed_words
from annotate.practice.sounds.beats import Under
from annotate.practice.sounds.evenly import DEEPEST_DB, NEARLY_LU, Progress, written_evenly
from annotate.practice.sounds.instruments import Tuning
from annotate.practice.sounds.layers import CLOSING_FADES, Score, layers_of, sample_of
from annotate.practice.sounds.mixing import mixed
from annotate.practice.sounds.on_paper import written_stretches
from annotate.practice.sounds.plan import Run, laid_out, parts_of
from annotate.practice.sounds.tags import tags_of
from annotate.practice.sounds.wishes import LONGEST_S, SoundMade, SoundPart, SoundWishes
from ingest.sound_writing import KINDS, RATE_HZ, kind_of
from theory.errors import UnknownName
from theory.numbers import spoken
from theory.passage import Passage as Notation
from theory.ragas import Raga, get_raga

LEAST_FADE_S = 0.25
USUAL_LAYA = Fraction(60)
USUAL_SA_HZ = 277.2
"""Sa (C sharp) where the recording's is not known."""

_LAID_SHARE = 0.4  # of the work, when everything is laid out and slowed


def write_sound(
    archive: Archive, piece: Piece, wishes: SoundWishes, path: Path, progress: Progress | None = None
) -> SoundMade:
    """Make a practice sound and write it.

    Parameters
    ----------
    archive : Archive
    piece : Piece
    wishes : SoundWishes
    path : Path
        A new file; its ending says what it becomes: ``.flac``, ``.mp3`` or ``.opus``.
    progress : callable, optional
        Told the share done, 0 to 1.

    Returns
    -------
    SoundMade

    Raises
    ------
    CannotSound
        It cannot be made as wished for, or ``path`` is there, has another ending, or cannot be written. No file was
        made.
    """
    _require_new(path)
    score = _laid_out(archive, piece, wishes)
    length = sample_of(score.legs[-1].end_s)
    sound_path = _sound_path(archive, piece) if score.passages else None
    tell = progress or (lambda _share: None)
    layers = layers_of(
        score, _tuning(piece, wishes), wishes, sound_path, length, lambda share: tell(_LAID_SHARE * share)
    )
    tags = tags_of(piece, score.how, wishes.licence)

    def written(share: float) -> None:
        tell(_LAID_SHARE + (1 - _LAID_SHARE) * share)

    try:
        blocks = mixed(layers, length, _fade(score, length))
        loudness = written_evenly(blocks, length, path, wishes.loudness_lufs, tags, written, mono=wishes.mono)
    except OSError as error:
        raise CannotSound(f"{path} cannot be written: {error.strerror or error}. Nothing of it was left.") from None
    if abs(loudness.lufs - wishes.loudness_lufs) > NEARLY_LU:
        score.told.append(
            f"It has {loudness.lufs:.1f} LUFS, not {wishes.loudness_lufs:g}: for more its strokes would have to be "
            f"bent down by more than {DEEPEST_DB:g} dB."
        )
    return SoundMade(path, length / RATE_HZ, loudness.lufs, loudness.peak_db, parts_of(score.legs), tuple(score.told))


def parts_planned(archive: Archive, piece: Piece, wishes: SoundWishes) -> tuple[tuple[SoundPart, ...], tuple[str, ...]]:
    """Return the parts that a sound will have, and what will be otherwise than wished for; nothing is made.

    Raises
    ------
    CannotSound
        It cannot be made as wished for. Whether the recording can be read shows only when it is made.
    """
    score = _laid_out(archive, piece, wishes)
    return parts_of(score.legs), tuple(score.told)


def _laid_out(archive: Archive, piece: Piece, wishes: SoundWishes) -> Score:
    score = _from_recording(archive, piece, wishes) if wishes.source == "recording" else _on_paper(piece, wishes)
    lasts_s = score.legs[-1].end_s
    if lasts_s > LONGEST_S:
        raise CannotSound(
            f"That would last {float(lasts_s) / 60:.0f} minutes, {LONGEST_S // 60} at most are made: ask for fewer "
            "rounds or speeds."
        )
    return score


def _fade(score: Score, length: int) -> int:
    """How many samples at the end die away."""
    last = score.legs[-1]
    share = CLOSING_FADES * (length - sample_of(last.begin_s)) if last.kind == "closing" else 0.0
    return min(round(max(LEAST_FADE_S * RATE_HZ, share)), length)


def _require_new(path: Path) -> None:
    if kind_of(path) is None:
        raise CannotSound(f"'{path.name}' should end in {', '.join(KINDS)}: the ending says what it becomes.")
    if path.exists():
        raise CannotSound(f"{path} exists and was left as it is. Name a new file, or remove that one.")
    if not path.parent.is_dir():
        raise CannotSound(f"There is no folder {path.parent} to write into: make it first, or name another place.")


def _sound_path(archive: Archive, piece: Piece) -> Path:
    path = archive.sound_path(piece.slug)
    if path is None:
        raise CannotSound(
            f"The archive keeps no sound of {piece.slug}: take the recording in again with its sound, or make the "
            "sound from notation (--from notation)."
        )
    return path


def _from_recording(archive: Archive, piece: Piece, wishes: SoundWishes) -> Score:
    _sound_path(archive, piece)
    grid = grid_around(archive, piece)
    if grid is not None:  # what is counted under a recording is what was played, whatever stands beside the row
        piece = replace(piece, tala=grid.tala)
    passages, told = played_passages(piece, grid, wishes)
    runs = [
        Run(passage.stretch, 100 / speed, speed_words(speed), True, passage.stretch.closes)
        for passage in passages
        for speed in wishes.speeds
    ]
    speeds = " and ".join([", ".join(map(spoken, wishes.speeds[:-1])), spoken(wishes.speeds[-1])])
    how = f"from the recording at {speeds.removeprefix(' and ')} % of the speed as played"
    return _score(piece, wishes, runs, passages, how, told)


def _on_paper(piece: Piece, wishes: SoundWishes) -> Score:
    if not piece.passage.notes:
        raise CannotSound(f"No swara or bol is written down for {piece.address}: write it, then it can be played.")
    told: list[str] = []
    layas = wishes.layas
    if not layas:
        layas = (Fraction(round(piece.per_minute)) if piece.per_minute else USUAL_LAYA,)
        if not piece.per_minute:
            told.append(f"Its laya is not known: {USUAL_LAYA} matras a minute were taken.")
    stretches = [written_stretches(piece, wishes, laya) for laya in layas]
    runs = [
        Run(
            each,
            Fraction(1),
            f"at {spoken(laya)} matras a minute",
            number == 0 or not each.closes,
            number == len(layas) - 1 and each.closes,
        )
        for alone in range(len(stretches[0]))
        for number, (laya, each) in enumerate(zip(layas, (turn[alone] for turn in stretches), strict=True))
    ]
    how = f"played from notation at {' to '.join(dict.fromkeys(map(spoken, (layas[0], layas[-1]))))} matras a minute"
    return _score(piece, wishes, runs, (), how, told)


def _score(
    piece: Piece, wishes: SoundWishes, runs: list[Run], passages: tuple[Passage, ...], how: str, told: list[str]
) -> Score:
    from_recording = wishes.source == "recording"
    tala = piece.tala
    theka = wishes.theka if wishes.theka is not None else not from_recording and tala is not None and tala.theka_known
    if wishes.theka and (tala is None or not tala.theka_known):
        raise CannotSound(f"No theka is known for {piece.address}: leave it out, or lay clicks under it (--clicks).")
    clicks = wishes.clicks if wishes.clicks is not None else from_recording and tala is not None
    lehra: Notation | None = None
    if wishes.lehra:
        lehra = _lehra(piece)
    under = Under(tala, clicks, theka, lehra)
    count_in = wishes.count_in if wishes.count_in is not None else Fraction(tala.matras if tala else 0)
    legs = laid_out(runs, wishes.rounds, count_in, tala.matras if tala else None)
    tanpura = wishes.tanpura if wishes.tanpura is not None else not from_recording
    return Score(legs, under, passages, tanpura, how, told)


def _lehra(piece: Piece) -> Notation:
    from theory.lehra import lehra

    raga = _raga(piece)
    if raga is None or piece.tala is None:
        missing = "tala" if piece.tala is None else "raga of the table"
        raise CannotSound(f"A lehra needs raga and tala, and {piece.address} has no {missing}: leave the lehra out.")
    return lehra(raga, piece.tala)


def _raga(piece: Piece) -> Raga | None:
    try:
        return get_raga(piece.raga) if piece.raga else None
    except UnknownName:
        return None


def _tuning(piece: Piece, wishes: SoundWishes) -> Tuning:
    """Sa, and the tanpura's strings: Pa, or Ma or Ni where the raga has no Pa; common practice, no source."""
    raga = _raga(piece)
    swaras = raga.swara_set if raga is not None else frozenset("P")
    first = next((ratio for swara, ratio in (("P", 3 / 4), ("m", 2 / 3), ("N", 15 / 16)) if swara in swaras), 3 / 4)
    return Tuning(wishes.sa_hz or piece.sa_hz or USUAL_SA_HZ, (first, 1.0, 1.0, 0.5))
