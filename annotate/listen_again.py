"""Making the evidence of a recording again, from its sound; what people have said of it is not touched.

Evidence follows from the sound alone: when it is missing, cannot be read, or a newer version hears better, it is
measured again, from the files as they came if they are given or were kept, else from the listening copy. The grid
follows from it and from the marked sams when it is next asked for.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

from annotate.archive import Archive
from annotate.arrival import LAST
from annotate.errors import NoSound
from annotate.intake import BESIDE_FROM_S
from annotate.intake_source import ROLES, Source, look_at
from annotate.intake_stages import Tell, run_stages
from annotate.intake_work import stages
from annotate.records import Recording
from annotate.store.folder import as_folder
from annotate.unfinished import clear, work_on
from ingest.listen import Sound

LENGTH_SLACK_S = 1.0
"""A listening copy may be so much longer or shorter than what it was made from: codecs count in frames."""


def listen_again(
    archive: Archive, slug: str, files: Sequence[Path] = (), tell: Tell | None = None, beside: bool | None = None
) -> str:
    """Measure a recording again and replace its evidence.

    Parameters
    ----------
    archive : Archive
    slug : str
    files : sequence of Path
        The files that it was taken in from, in any order; without them what the archive keeps of its sound.
    tell : callable, optional
        Told how far it is.
    beside : bool, optional
        As for :func:`annotate.intake.take_in`.

    Returns
    -------
    str
        What it was measured from: ``"the files"``, ``"the originals"`` or ``"the listening copy"``.

    Raises
    ------
    NoSuchRecording
        With the nearest slugs.
    NoSound
        The files are not those of the recording, or none were given and the archive keeps no sound of it.
    BeingTakenIn
        Another process is at it.
    """
    recording = archive.state(slug).recording
    if not recording.audio_sha256:
        raise NoSound(f"'{slug}' was made without sound, so there is nothing to listen to again.")
    sound, what = _sound_of(archive, recording, files)
    source = look_at(sound)
    _refuse_another_length(recording, source)
    digest = hashlib.sha256(f"again {slug} {source.sha256}".encode()).hexdigest()
    with work_on(archive.workshop, digest, f"'{slug}'") as work:
        plan = [stage for stage in stages(source, (), "nothing", "") if stage.name in ("listen", "melody")]
        beside = source.duration_s >= BESIDE_FROM_S if beside is None else beside
        run_stages(plan, work, tell or (lambda _step: None), beside)
        evidence = as_folder(archive.evidence_folder(slug))
        evidence.store.announce(f"recordings/{slug}")
        fresh = sorted((work.recording / "evidence").glob("*.parquet"), key=lambda path: (path.name == LAST, path.name))
        for path in fresh:
            evidence.put_file(path.name, path)
        clear(work)
    return what


def _sound_of(archive: Archive, recording: Recording, files: Sequence[Path]) -> tuple[Sound, str]:
    """The best there is of a recording's sound, and what to call it."""
    if files:
        return _matched(recording, {look_at(path).sha256: path for path in files}), "the files"
    kept = [archive.store.local(name) for name in archive.originals(recording.slug)]
    if kept:
        return _matched(recording, {look_at(path).sha256: path for path in kept}), "the originals"
    copy = archive.sound_path(recording.slug)
    if copy is None:
        names = ", ".join(file.name for file in recording.files) or "it"
        raise NoSound(
            f"The archive keeps no sound of '{recording.slug}'. Name the files that it was taken in from ({names})."
        )
    return Sound((copy,)), "the listening copy"


def _matched(recording: Recording, paths: dict[str, Path]) -> Sound:
    """The recording's own files among those found, told by their content, in their order and roles."""
    if not recording.files and set(paths) == {recording.audio_sha256}:  # taken in before the files were kept
        return Sound(tuple(paths.values()))
    missing = [file.name for file in recording.files if file.sha256 not in paths]
    if missing or not recording.files:
        raise NoSound(
            f"These are not the files that '{recording.slug}' was taken in from: no file has the content of "
            f"{', '.join(missing) or 'the one file it came from'}. Name them all, under whatever name, or none to use "
            "the listening copy."
        )
    roles = {role: tuple(paths[file.sha256] for file in recording.files if file.role == role) for role in ROLES}
    return Sound(**roles)


def _refuse_another_length(recording: Recording, source: Source) -> None:
    if recording.duration_s is not None and abs(source.duration_s - recording.duration_s) > LENGTH_SLACK_S:
        raise NoSound(
            f"{source.name} is {source.duration_s:.1f} s long and '{recording.slug}' {recording.duration_s:.1f} s: "
            "it is not the same sound. Name the files that it was taken in from."
        )
