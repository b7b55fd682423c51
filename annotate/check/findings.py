"""What a check finds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

Job = tuple[
    Literal["card", "set aside", "history", "derived", "index", "sweep", "remove"],
    str,
]
"""A mend, and what it is done to: a file's name, a recording's slug, a table."""


@dataclass(frozen=True)
class Finding:
    """One thing that was found.

    Attributes
    ----------
    kind : str
        In two or three words, the same for all of its kind: ``"revision damaged"``.
    where : str
        A name in the archive, or a row: ``"evening, tihai t03"``.
    means : str
        What it means for the user, a sentence.
    mend : str
        What ``--repair`` does, or what the user can do, a sentence.
    job : Job or None
        What ``--repair`` does; None where it can do nothing.
    damage : bool
        False for what is as it may be: work not finished, files that are not the archive's.
    """

    kind: str
    where: str
    means: str
    mend: str
    job: Job | None = None
    damage: bool = True

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "kind": self.kind,
            "where": self.where,
            "means": self.means,
            "mend": self.mend,
            "mended_by_repair": self.job is not None,
            "damage": self.damage,
        }


def damage_in(findings: Iterable[Finding]) -> list[Finding]:
    """Return those that are damage."""
    return [finding for finding in findings if finding.damage]
