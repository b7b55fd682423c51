"""What may lie where in an archive: every name that this program gives to a file, by kind.

A name of no kind is not the archive's: it is left where it is, and not taken into a backup. ``access/`` is of who may
log in to the dashboard here, and stays out of backups too.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from annotate.card import CARD
from annotate.schema import EVIDENCE, INDEX_TABLES

Kind = Literal[
    "card",
    "revision",
    "snapshot",
    "ledger",
    "evidence",
    "grid",
    "sound",
    "index",
    "unfinished",
    "announced",
    "claimed",
    "removal",
    "composition",
    "course",
    "set aside",
    "access",
    "other",
]

GRIDS = ("grid", "courses", "proposals")
"""Files in ``evidence/`` that follow from the evidence and the marks: the grid, what it starts from, what is on it."""
MEASURED = (*EVIDENCE, "melody", "levels")
"""Files in ``evidence/`` that are measured from the sound."""
SET_ASIDE = "set-aside"
"""Where ``layakosh check --repair`` moves what is damaged."""

_SLUG = r"[a-z0-9](?:[a-z0-9-]{0,78}[a-z0-9])?"
_RECORDING = rf"recordings/({_SLUG})"
_PATTERNS: tuple[tuple[Kind, re.Pattern[str]], ...] = (
    ("card", re.compile(re.escape(CARD))),
    ("revision", re.compile(rf"{_RECORDING}/revisions/(\d{{8}})\.parquet", re.ASCII)),
    ("snapshot", re.compile(rf"{_RECORDING}/snapshots/(\d{{8}})\.parquet", re.ASCII)),
    ("ledger", re.compile(rf"{_RECORDING}/ledger/(\d{{8}})-[0-9a-f]{{32}}\.parquet", re.ASCII)),
    ("evidence", re.compile(rf"{_RECORDING}/evidence/(?:{'|'.join(MEASURED)})\.parquet")),
    ("grid", re.compile(rf"{_RECORDING}/evidence/(?:{'|'.join(GRIDS)})\.parquet")),
    ("sound", re.compile(rf"{_RECORDING}/sound/[^/.][^/]*")),
    ("index", re.compile(rf"index/(?:{'|'.join(INDEX_TABLES)})(?:/\d+-of-\d+)?\.parquet", re.ASCII)),
    ("unfinished", re.compile(r"unfinished/.+")),
    ("announced", re.compile(rf"announced/{_RECORDING}")),
    ("claimed", re.compile(rf"claimed/{_RECORDING}")),
    ("removal", re.compile(rf"removing/({_SLUG})")),
    ("composition", re.compile(rf"compositions/({_SLUG})/(\d{{8}})\.toml", re.ASCII)),
    ("course", re.compile(rf"courses/({_SLUG})/(\d{{8}})\.toml", re.ASCII)),
    ("set aside", re.compile(rf"{SET_ASIDE}/.+")),
    ("access", re.compile(r"access/.+")),
)


def removal_of(slug: str) -> str:
    """Return the name of the file that is there while a recording is removed for good."""
    return f"removing/{slug}"


@dataclass(frozen=True)
class Named:
    """What a name says: the kind of file, the recording, composition or course it is of, the number of a revision."""

    kind: Kind
    slug: str = ""
    number: int = 0


def named(name: str) -> Named:
    """Return what the name of a file in an archive says."""
    for kind, pattern in _PATTERNS:
        match = pattern.fullmatch(name)
        if match is not None:
            told = match.groups()
            return Named(kind, told[0] if told else "", int(told[1]) if len(told) > 1 else 0)
    return Named("other")
