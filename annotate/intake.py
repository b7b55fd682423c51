"""Taking a recording in: listen, follow the melody, divide, choose the tala, fit the cycle, and only then show it.

Everything is made in a folder of unfinished work (see :mod:`annotate.unfinished`), stage by stage, and comes into the
archive whole (see :mod:`annotate.arrival`): first revision, evidence, grid and sound. Until then the archive is as it
was; whatever stops it, also a kill, leaves the stages done for the next run.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from annotate.archive import Archive
from annotate.arrival import bring_in
from annotate.errors import BadAnnotation
from annotate.intake_source import Source, digests_in, look_at, refuse_known
from annotate.intake_stages import Step, Tell, run_stages
from annotate.intake_work import Keep, sections_of, stages
from annotate.labels import raga_key
from annotate.records import Recording, Section
from annotate.revisions import Edit, add
from annotate.slugs import slug_of
from annotate.unfinished import (
    NAME_LENGTH,
    Unfinished,
    UnreadableWork,
    alone,
    clear,
    renew,
    sweep,
    work_on,
)
from ingest.kind_names import tempo_school as school_of_tempo
from ingest.listen import Sound
from theory.talas import get_tala

__all__ = ["BESIDE_FROM_S", "Keep", "Step", "Tell", "look_at", "take_in"]

BESIDE_FROM_S = 240.0
"""From this length on the melody is followed in a process beside: starting one takes a second or two."""


def take_in(
    archive: Archive,
    audio: str | Path | Sound | Source,
    *,
    raga: str,
    tala: str | Sequence[str],
    title: str | None = None,
    sa: float | None = None,
    performed_on: date | None = None,
    musicians: Iterable[tuple[str, str]] = (),
    lead: str = "",
    venue: str = "",
    notes: str = "",
    who: str = "",
    tell: Tell | None = None,
    keep: Keep = "compact",
    beside: bool | None = None,
    tempo_school: str | None = None,
) -> str:
    """Take a recording into the archive: a sound file, a video with sound, or several files of one performance.

    Parameters
    ----------
    archive : Archive
    audio : str, Path, Sound or Source
        One file; or several that follow each other, or stems (see `ingest.listen.Sound`).
    raga : str
        A raga of the table, or free text.
    tala : str or sequence of str
        The tala of the sections with tabla, or the candidates among which each section's is chosen.
    title : str, optional
        By default what the files' names have in common.
    sa : float, optional
        The lead's Sa in Hz; by default heard from the drone.
    performed_on, musicians, lead, venue, notes
        Kept with the recording; ``musicians`` are pairs of role and name.
    who : str
        Who takes it in.
    tell : callable, optional
        Told how far it is, stage by stage, in :class:`Step`.
    keep : {"compact", "original", "nothing"}
        What to keep of the sound: the listening copy, the files as they came beside it, or neither.
    beside : bool, optional
        Whether the melody is followed in a process of its own; by default from :data:`BESIDE_FROM_S` on.
    tempo_school : str, optional
        By whose names of the laya gats are called (a key of ``theory.tempo``: schools differ); by default by those of
        the archive.

    Returns
    -------
    str
        The recording's slug.

    Raises
    ------
    UnknownName
        No such tala, or no such school.
    ingest.errors.UnreadableAudio, ingest.errors.EmptyAudio, ingest.errors.StemsDiffer
        Nothing to be heard in a file, or stems that do not belong together.
    AlreadyTakenIn
        The same content is in the archive already.
    BeingTakenIn
        Another process is taking it in.
    OSError
        The disk is full, or the archive cannot be written. What was done is kept for the next run.
    """
    talas = [get_tala(name) for name in ([tala] if isinstance(tala, str) else tala)]
    if not talas:
        raise BadAnnotation("Name at least one tala, such as 'teental'.")
    if sa is not None and not 20 <= sa <= 2000:
        raise BadAnnotation(f"A Sa of {sa:g} Hz cannot be sung or played. Give it in Hz, as 146.8, or as a note name.")
    school = archive.tempo_school if tempo_school is None else school_of_tempo(tempo_school).key
    source = audio if isinstance(audio, Source) else look_at(audio)
    title = title or source.title
    in_archive = {digest[:NAME_LENGTH] for digest in digests_in(archive)}
    sweep(archive.workshop, in_archive.__contains__)
    refuse_known(archive, source)
    with work_on(archive.workshop, source.sha256, source.name) as work:
        refuse_known(archive, source)  # somebody may have finished it meanwhile
        plan = stages(source, list(dict.fromkeys(talas)), keep, slug_of(title), school)
        beside = source.duration_s >= BESIDE_FROM_S if beside is None else beside
        try:
            found = run_stages(plan, work, tell or _silent, beside)
        except UnreadableWork:
            renew(work)
            found = run_stages(plan, work, tell or _silent, beside)
        heard = found["listen"]
        recording = Recording(
            slug="",
            title=title,
            performed_on=performed_on,
            venue=venue,
            raga=raga_key(raga),
            tala=found["tala"]["main"],
            lead=lead,
            musicians=tuple(musicians),
            sa_hz=float(sa if sa is not None else heard["sa_hz"]),
            duration_s=heard["duration_s"],
            audio_sha256=source.sha256,
            audio_path=heard["copy"],
            notes=notes,
            files=tuple(
                replace(file, start_s=start_s) for file, start_s in zip(source.files, heard["starts_s"], strict=True)
            ),
        )
        slug = _bring_in(archive, work, source, recording, sections_of(found, found["name"]["kinds"]), who)
        clear(work)
    return slug


def _bring_in(
    archive: Archive, work: Unfinished, source: Source, recording: Recording, sections: Sequence[Section], who: str
) -> str:
    """Bring the finished work into the archive under a slug of the title."""

    def edits_of(slug: str) -> list[Edit]:
        audio_path = f"recordings/{slug}/{recording.audio_path}" if recording.audio_path else ""
        return [add(replace(recording, slug=slug, audio_path=audio_path)), *map(add, sections)]

    names = ", ".join(file.name for file in source.files)
    with alone(archive.workshop):
        refuse_known(archive, source)  # alone, or among other files, by somebody who was faster
        return bring_in(
            archive, work.recording, recording.title, source.sha256, edits_of, who, f"taken in from {names}"
        )


def _silent(_step: Step) -> None:
    pass
