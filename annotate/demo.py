"""The sample performances, taken in as a musician would: the sound through ingest, then what was written down of it.

The sams are not loaded: the demo's grid is what ingest hears. Taken in already, they are left as they are, so that
the demo may be run again, also after it was stopped half way.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from annotate.archive import Archive
from annotate.errors import AlreadyTakenIn
from annotate.intake import take_in
from annotate.tables_in import load

WHO = "demo"


def take_in_samples(archive: Archive, progress: Callable[[float], None] | None = None) -> list[str]:
    """Take the sample performances into an archive.

    Parameters
    ----------
    archive : Archive
    progress : callable, optional
        Called with the share done, 0 to 1.

    Returns
    -------
    list of str
        Their slugs.
    """
    slugs = []
    with as_file(files("sample_data")) as folder:
        concerts = tomllib.loads((folder / "concerts.toml").read_text(encoding="utf-8"))["concert"]
        for number, concert in enumerate(concerts):

            def share(of_this: float, number: int = number) -> None:
                if progress is not None:
                    progress((number + of_this) / len(concerts))

            slugs.append(_take_in_one(archive, folder, concert, share))
    return slugs


def _take_in_one(archive: Archive, folder: Path, concert: dict[str, Any], progress: Callable[[float], None]) -> str:
    try:
        slug = take_in(
            archive,
            folder / concert["audio"],
            raga=concert["raga"],
            tala=concert["tala"],
            title=concert["title"],
            performed_on=concert["performed_on"],
            venue=concert["venue"],
            musicians=[(each["role"], each["name"]) for each in concert["musicians"]],
            who=WHO,
            tell=lambda step: progress(step.overall),
        )
    except AlreadyTakenIn as known:
        slug = known.slug
    if not archive.state(slug).tihais:
        load(archive, slug, tihais=folder / concert["tihais"], phrases=folder / concert["phrases"], who=WHO)
    progress(1.0)
    return slug
