"""Recordings that were withdrawn, as their page shows them, to be brought back. Annotators only.

Withdrawing itself is asked for on the page of a recording's details. For good a recording is removed on the command
line alone, by whoever keeps the archive.
"""

from __future__ import annotations

from typing import Any

from annotate import withdrawing
from annotate.archive import Archive
from annotate.history.points import moment_words
from dashboard import words
from dashboard.marking.shown import WHO, by


def shown(archive: Archive) -> dict[str, Any]:
    """Return what the page of withdrawn recordings shows, the latest first."""
    return {
        "rows": [
            {
                "slug": each.slug,
                "title": each.recording.title or each.slug,
                "raga": words.raga_name(each.recording.raga),
                "length": words.length(each.recording.duration_s),
                "kept": each.kept,
                "who": "" if each.who == WHO else by(each.who),
                "when": moment_words(each.when),
            }
            for each in withdrawing.withdrawn(archive)
        ]
    }


def withdraw(archive: Archive, slug: str) -> dict[str, str]:
    """Withdraw a recording; return what was done, and the address where it is to be found.

    Raises
    ------
    annotate.errors.NoSuchRecording
        There is none, or somebody has withdrawn it already.
    dashboard.errors.MayNotEdit
        Who is at hand is a reader.
    """
    withdrawing.withdraw_recording(archive, slug, WHO)
    return {"said": "It is withdrawn.", "to": "/withdrawn"}


def bring_back(archive: Archive, slug: str) -> dict[str, str]:
    """Bring a recording back; return what was done, and the address of its details.

    Raises
    ------
    annotate.errors.NoSuchRecording, annotate.errors.NotWithdrawn
        There is none, or somebody has brought it back already.
    dashboard.errors.MayNotEdit
        Who is at hand is a reader.
    """
    withdrawing.bring_back(archive, slug, WHO)
    return {"said": "It is back.", "to": f"/concerts/{slug}"}
