"""What an address asks the list of performances for: ``/?find=desh&tala=teental&needs=1&sort=length&down=1&from=51``.

Whatever is not understood is as if it were not there, so that an old bookmark still opens.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any
from urllib.parse import urlencode

MOST_TEXT = 200
SORTS = ("title", "raga", "tala", "date", "musicians", "length", "marked", "land", "next")
"""By what the list can be sorted; by date, the newest first, unless it is asked for otherwise."""


@dataclass(frozen=True)
class Asked:
    """What the list is asked for; empty is anything.

    ``needs`` is whether only what waits for somebody is wanted, ``first`` counts from 0.
    """

    find: str = ""
    raga: str = ""
    tala: str = ""
    musician: str = ""
    year: str = ""
    needs: bool = False
    sort: str = "date"
    down: bool = True
    first: int = 0

    @property
    def narrows(self) -> bool:
        """Whether anything may be left out."""
        return bool(self.find or self.raga or self.tala or self.musician or self.year or self.needs)

    def address(self, **changes: Any) -> str:
        """Return the address that asks for it, with some of it changed; another choice begins at the top again."""
        asked = replace(self, **({"first": 0} | changes))
        told = {field.name: getattr(asked, field.name) for field in fields(asked)[:5]}
        told |= {"needs": "1" if asked.needs else ""}
        if asked.sort != "date" or not asked.down:
            told |= {"sort": asked.sort, "down": "1" if asked.down else ""}
        told |= {"from": str(asked.first + 1) if asked.first else ""}
        search = urlencode({name: value for name, value in told.items() if value})
        return f"/?{search}" if search else "/"


def read(wanted: Mapping[str, str]) -> Asked:
    """Return what an address asks for."""
    texts = {name: wanted.get(name, "").strip()[:MOST_TEXT] for name in ("find", "raga", "tala", "musician", "year")}
    first = wanted.get("from", "")
    sort = wanted.get("sort", "")
    return Asked(
        **texts,
        needs=wanted.get("needs") == "1",
        sort=sort if sort in SORTS else "date",
        down=wanted.get("down") == "1" if sort in SORTS else True,
        first=max(0, int(first) - 1) if first.isascii() and first.isdigit() and len(first) < 8 else 0,
    )
