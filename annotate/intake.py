"""Taking a recording in: measure it, keep a listening copy, divide it into sections, fit the grid.

A recording is in the archive once its first revision is. Until then its folder is only claimed (it holds a marker
file), and whatever fails removes it; what a killed process leaves behind is swept a day later.
"""

from __future__ import annotations

import hashlib
import shutil
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

from annotate import evidence_store
from annotate.archive import Archive
from annotate.errors import AlreadyTakenIn, BadAnnotation
from annotate.files import STRAY_PREFIX, make_folders
from annotate.labels import raga_key
from annotate.records import Recording, Section
from annotate.revisions import add
from annotate.slugs import unique_slug
from annotate.sound import keep_copy
from ingest.decode import probe
from ingest.evidence import Evidence
from ingest.measure import measure
from ingest.stretches import stretches
from ingest.tonic import sa_from_drone
from theory.talas import Tala, get_tala

Progress = Callable[[float], None]

_CLAIM = f"{STRAY_PREFIX}intake"
CLAIM_AGE_S = 86400.0
"""A claim older than a day belongs to a process that is gone."""

MEASURED, KEPT = 0.8, 0.9
"""Shares of the work done once the sound is measured, and once it is kept."""


def take_in(
    archive: Archive,
    audio_path: str | Path,
    *,
    raga: str,
    tala: str,
    title: str | None = None,
    sa: float | None = None,
    performed_on: date | None = None,
    musicians: Iterable[tuple[str, str]] = (),
    lead: str = "",
    venue: str = "",
    notes: str = "",
    who: str = "",
    progress: Progress | None = None,
    keep_sound: bool = True,
) -> str:
    """Take a sound file (or a video with sound) into the archive.

    Parameters
    ----------
    archive : Archive
    audio_path : str or Path
    raga : str
        A raga of the table, or free text.
    tala : str
        The tala of the stretches with tabla.
    title : str, optional
        By default the file's name.
    sa : float, optional
        The lead's Sa in Hz; by default heard from the drone.
    performed_on, musicians, lead, venue, notes
        Kept with the recording; ``musicians`` are pairs of role and name.
    who : str
        Who takes it in.
    progress : callable, optional
        Called with the share done, 0 to 1.
    keep_sound : bool
        Whether to keep a listening copy.

    Returns
    -------
    str
        The recording's slug.

    Raises
    ------
    UnknownName
        No such tala.
    ingest.errors.UnreadableAudio, ingest.errors.EmptyAudio
        Nothing to be heard in the file.
    AlreadyTakenIn
        The same content is in the archive already.
    """
    path, told = Path(audio_path), progress or _silent
    counted = get_tala(tala)
    if sa is not None and not 20 <= sa <= 2000:
        raise BadAnnotation(f"A Sa of {sa:g} Hz cannot be sung or played. Give it in Hz, as 146.8, or as a note name.")
    info = probe(path)
    sha256 = _digest(path)
    _refuse_twice(archive, path, sha256)
    evidence = measure(path, lambda share: told(MEASURED * share))
    recording = Recording(
        slug="",
        title=title or path.stem.replace("_", " "),
        performed_on=performed_on,
        venue=venue,
        raga=raga_key(raga),
        tala=counted.key,
        lead=lead,
        musicians=tuple(musicians),
        sa_hz=float(sa if sa is not None else sa_from_drone(evidence).hz),
        duration_s=float(evidence.duration_s),
        audio_sha256=sha256,
        notes=notes,
    )
    with _claimed(archive, recording.title) as (slug, folder):
        evidence_store.save(folder / "evidence", evidence)
        audio = ""
        if keep_sound:
            make_folders(folder / "sound")
            audio = keep_copy(info, folder / "sound", slug).relative_to(archive.path).as_posix()
        told(KEPT)
        _refuse_twice(archive, path, sha256)  # somebody may have been faster
        edits = [add(replace(recording, slug=slug, audio_path=audio))]
        edits.extend(add(section) for section in _sections(evidence, counted))
        archive.commit(slug, edits, who, f"taken in from {path.name}", parent=0)
    archive.grid(slug)
    told(1.0)
    return slug


def _sections(evidence: Evidence, tala: Tala) -> list[Section]:
    """Name the stretches: with tabla a gat in the tala, without an alap; numbered from the second on."""
    counts = {"gat": 0, "alap": 0}
    sections = []
    for stretch in stretches(evidence):
        kind = "gat" if stretch.with_tabla else "alap"
        counts[kind] += 1
        name = kind if counts[kind] == 1 else f"{kind} {counts[kind]}"
        key = tala.key if stretch.with_tabla else ""
        sections.append(Section(name, kind, float(stretch.start_s), float(stretch.end_s), key, "ingest"))
    return sections


def _refuse_twice(archive: Archive, path: Path, sha256: str) -> None:
    known = archive.index("recordings")
    same = known.loc[known["audio_sha256"] == sha256, "recording"]
    if len(same):
        raise AlreadyTakenIn(path.name, str(same.iloc[0]))


def _digest(path: Path) -> str:
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


@contextmanager
def _claimed(archive: Archive, title: str) -> Iterator[tuple[str, Path]]:
    """Claim a folder under a slug of the title; remove it again if anything goes wrong."""
    home = archive.path / "recordings"
    make_folders(home)
    _sweep_claims(home)
    while True:
        slug = unique_slug(title, lambda candidate: (home / candidate).exists())
        folder = archive.folder(slug)
        try:
            folder.mkdir()
        except FileExistsError:
            continue  # somebody took the name between the question and the answer
        break
    claim = folder / _CLAIM
    try:
        claim.touch()
        yield slug, folder
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    claim.unlink(missing_ok=True)


def _sweep_claims(home: Path) -> None:
    """Remove what killed processes claimed and never took in; a folder with a revision in it is never touched."""
    for claim in home.glob(f"*/{_CLAIM}"):
        if time.time() - claim.stat().st_mtime > CLAIM_AGE_S:
            if any((claim.parent / "revisions").glob("*.parquet")):
                claim.unlink(missing_ok=True)
            else:
                shutil.rmtree(claim.parent, ignore_errors=True)


def _silent(_share: float) -> None:
    pass
