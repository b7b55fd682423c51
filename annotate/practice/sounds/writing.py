"""Making a practice sound: from a piece and wishes to a file of even loudness."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from annotate.archive import Archive
from annotate.practice.errors import CannotSound
from annotate.practice.pieces import Piece
from annotate.practice.sounds.as_played import Passage, played_passages, speed_words
from annotate.practice.sounds.beats import Beat, Under, beats_of
from annotate.practice.sounds.evenly import DEEPEST_DB, NEARLY_LU, Progress, written_evenly
from annotate.practice.sounds.instruments import DAMPING_S, GAINS, Tuning, pull_of, sound_of
from annotate.practice.sounds.mixing import Clip, Struck, mixed
from annotate.practice.sounds.on_paper import written_stretches
from annotate.practice.sounds.plan import Leg, Run, laid_out, parts_of
from annotate.practice.sounds.tags import tags_of
from annotate.practice.sounds.wishes import LONGEST_S, SoundMade, SoundWishes
from ingest.loudness import ratio_of
from ingest.sound_writing import KINDS, RATE_HZ, kind_of
from ingest.streams import Frames
from theory.errors import UnknownName
from theory.numbers import spoken
from theory.passage import Passage as Notation
from theory.ragas import Raga, get_raga

PASSAGE_LUFS = -20.0
"""The passage of the recording within the mix, so that clicks and theka stand as well under any recording."""
JOIN_S = 0.010
"""Where round follows round, one goes over into the other within this time, before the first stroke of either."""
OPENING_S = 0.010
LEAST_FADE_S = 0.25
USUAL_LAYA = Fraction(60)
USUAL_SA_HZ = 277.2
"""Sa (C sharp) where the recording's is not known."""


@dataclass(frozen=True)
class _Score:
    """All that is to sound: legs in time, what lies under them, the passages, and how it is said."""

    legs: tuple[Leg, ...]
    under: Under
    passages: tuple[Passage, ...]
    tanpura: bool
    how: str
    told: list[str]


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
    score = _from_recording(archive, piece, wishes) if wishes.source == "recording" else _on_paper(piece, wishes)
    lasts_s = score.legs[-1].end_s
    if lasts_s > LONGEST_S:
        raise CannotSound(
            f"That would last {float(lasts_s) / 60:.0f} minutes, {LONGEST_S // 60} at most are made: ask for fewer "
            "rounds or speeds."
        )
    length = _sample(lasts_s)
    layers: list[Struck | Clip] = [*_struck(score, _tuning(piece, wishes), wishes, length)]
    if score.passages:
        layers += _clips(_sound_path(archive, piece), score)
    fade = min(round(max(LEAST_FADE_S * RATE_HZ, 0.6 * (length - _sample(score.legs[-1].begin_s)))), length)
    if score.legs[-1].kind != "closing":
        fade = min(round(LEAST_FADE_S * RATE_HZ), length)
    tags = tags_of(piece, score.how, wishes.licence)
    try:
        blocks = mixed(layers, length, fade)
        loudness = written_evenly(blocks, length, path, wishes.loudness_lufs, tags, progress, mono=wishes.mono)
    except OSError as error:
        raise CannotSound(f"{path} cannot be written: {error.strerror or error}. Nothing of it was left.") from None
    if abs(loudness.lufs - wishes.loudness_lufs) > NEARLY_LU:
        score.told.append(
            f"It has {loudness.lufs:.1f} LUFS, not {wishes.loudness_lufs:g}: for more its strokes would have to be "
            f"bent down by more than {DEEPEST_DB:g} dB."
        )
    return SoundMade(path, length / RATE_HZ, loudness.lufs, loudness.peak_db, parts_of(score.legs), tuple(score.told))


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


def _from_recording(archive: Archive, piece: Piece, wishes: SoundWishes) -> _Score:
    _sound_path(archive, piece)
    passages, told = played_passages(archive, piece, wishes)
    runs = [
        Run(passage.stretch, 100 / speed, speed_words(speed), True, passage.stretch.closes)
        for passage in passages
        for speed in wishes.speeds
    ]
    speeds = " and ".join([", ".join(map(spoken, wishes.speeds[:-1])), spoken(wishes.speeds[-1])])
    how = f"from the recording at {speeds.removeprefix(' and ')} % of the speed as played"
    return _score(piece, wishes, runs, passages, how, told)


def _on_paper(piece: Piece, wishes: SoundWishes) -> _Score:
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
            number == 0,
            number == len(layas) - 1 and each.closes,
        )
        for alone in range(len(stretches[0]))
        for number, (laya, each) in enumerate(zip(layas, (turn[alone] for turn in stretches), strict=True))
    ]
    how = f"played from notation at {' to '.join(dict.fromkeys(map(spoken, (layas[0], layas[-1]))))} matras a minute"
    return _score(piece, wishes, runs, (), how, told)


def _score(
    piece: Piece, wishes: SoundWishes, runs: list[Run], passages: tuple[Passage, ...], how: str, told: list[str]
) -> _Score:
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
    return _Score(legs, under, passages, tanpura, how, told)


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


def _sample(time_s: Fraction) -> int:
    return round(time_s * RATE_HZ)


def _struck(score: _Score, tuning: Tuning, wishes: SoundWishes, length: int) -> Iterator[Struck]:
    under = ratio_of(wishes.under_db)
    placed: list[tuple[int, Beat, int | None]] = []
    for leg in score.legs:
        for beat in beats_of(leg, score.under):
            let_go_at = None if beat.rings is None else _sample(leg.time_s(beat.position + beat.rings))
            placed.append((_sample(leg.time_s(beat.position)), beat, let_go_at))
    placed.sort(key=lambda each: each[0])
    follower: dict[str, int] = {}
    for at, beat, let_go_at in reversed(placed):
        damping = DAMPING_S.get(beat.voice)
        stops = [each for each in (let_go_at, follower.get(beat.voice)) if each is not None and damping is not None]
        gain = GAINS[beat.voice] * beat.level * (1.0 if beat.voice == "pluck" else under)
        yield Struck(at, sound_of(beat.sound, tuning), gain, min(stops, default=None), (damping or 0) * RATE_HZ)
        follower[beat.voice] = at
    if score.tanpura:
        yield from _drone(tuning, under, length)


def _drone(tuning: Tuning, under: float, length: int) -> Iterator[Struck]:
    from sample_data.tanpura import REST_S, STEP_S

    at_s, number = 0.0, 0
    while at_s * RATE_HZ < length:
        string = number % len(tuning.strings)
        yield Struck(round(at_s * RATE_HZ), pull_of(string, tuning), GAINS["pull"] * under)
        at_s += STEP_S + (REST_S if string == len(tuning.strings) - 1 else 0.0)
        number += 1


def _clips(path: Path, score: _Score) -> Iterator[Clip]:
    """The passages at their speeds, round after round."""
    import av

    from annotate.practice.sounds.passage_slowed import join_lead_s, read_passage, slowed_passage
    from ingest.loudness import measured

    for passage in score.passages:
        own = [leg for leg in score.legs if leg.kind == "round" and leg.run.stretch is passage.stretch]
        try:
            closes = passage.stretch.closes
            lead_s = join_lead_s(path, passage.start_s, passage.end_s) if closes else OPENING_S
            whole = read_passage(path, passage.start_s, passage.end_s)
            if not np.any(whole):
                raise CannotSound("The recording is silent there, or ends before it: look at the times of the piece.")
            gain = ratio_of(min(PASSAGE_LUFS - measured([whole], RATE_HZ).lufs, 40.0))
            del whole
            for slower in dict.fromkeys(leg.run.slower for leg in own):
                closing = [leg for leg in score.legs if leg.kind == "closing" and leg.run.stretch is passage.stretch]
                rings_s = next((leg.pace.lasts_s for leg in closing if leg.run.slower == slower), Fraction(0)) / slower
                from_s = passage.start_s - lead_s - JOIN_S / float(slower)
                sound = slowed_passage(path, from_s, passage.end_s + float(rings_s), 1 / float(slower))
                rounds = [leg for leg in own if leg.run.slower == slower]
                yield from _laid(rounds, sound, round((passage.start_s - from_s) * float(slower) * RATE_HZ), gain)
        except (av.FFmpegError, IndexError) as error:
            raise CannotSound(f"The archive's sound cannot be read ({error}): see layakosh check.") from None


def _laid(rounds: list[Leg], sound: Frames, lead: int, gain: float) -> Iterator[Clip]:
    """One passage at one speed in all its rounds. ``lead`` samples of it come before a round's first sam."""
    join = round(JOIN_S * RATE_HZ)
    for number, leg in enumerate(rounds):
        at, ends = _sample(leg.begin_s), _sample(leg.end_s)
        length = ends - at
        if not leg.run.stretch.closes:
            yield Clip(at - lead, sound[: lead + length], gain, lead, round(LEAST_FADE_S / 4 * RATE_HZ))
        elif number + 1 < len(rounds):  # cut where the next one comes in
            yield Clip(at - lead, sound[: length + join], gain, join, join)
        else:
            yield Clip(at - lead, sound, gain, join, round(0.6 * (len(sound) - lead - length)))
