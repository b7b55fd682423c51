"""Recordings to be taken in, as the workshop keeps them until they are, so that a restart of the server loses none.

::

    <workshop>/unfinished/orders/<number>.json     one order: whose, of which sent files, how, what became of it

Conventions: a number is of ours; the files of an order are known by their numbers in :mod:`dashboard.access.sending`.
What cannot be read is left where it is and passed over.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from datetime import date
from pathlib import Path
from typing import Any, Literal

from annotate.errors import CannotWrite
from annotate.files import make_folders, replace

Became = Literal["waiting", "taken in", "known", "failed"]
ROLES = ("whole", "melody", "tabla", "drone")
"""What a file may hold; see :class:`ingest.listen.Sound`."""
_NUMBER = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True)
class SentFile:
    """A sent file: its number, its name for showing, and what it holds (one of :data:`ROLES`)."""

    number: str
    name: str
    role: str = "whole"


@dataclass(frozen=True)
class Order:
    """A recording to be taken in.

    ``how`` holds what :func:`annotate.intake.take_in` is told, as JSON has it; ``slug`` is the recording that it became
    or that it is already, and ``said`` what is to be said of it.
    """

    number: str
    by: str
    title: str
    begun_at: float
    files: tuple[SentFile, ...]
    how: Mapping[str, Any] = field(default_factory=dict)
    became: Became = "waiting"
    slug: str = ""
    said: str = ""

    def told(self) -> dict[str, Any]:
        """Return the keyword arguments of :func:`annotate.intake.take_in`."""
        on = self.how.get("performed_on")
        return {
            **self.how,
            "title": self.title,
            "performed_on": date.fromisoformat(on) if on else None,
            "musicians": tuple((role, name) for role, name in self.how.get("musicians", ())),
        }


def keep(home: Path, order: Order) -> None:
    """Write an order down, durably.

    Raises
    ------
    CannotWrite
    """
    try:
        make_folders(home)
        replace(home / f"{order.number}.json", json.dumps(asdict(order), ensure_ascii=False).encode())
    except OSError as error:
        raise CannotWrite(order.title, error) from error


def drop(home: Path, number: str) -> None:
    """Forget an order."""
    (home / f"{number}.json").unlink(missing_ok=True)


def kept(home: Path) -> list[Order]:
    """Return the orders that are kept, the oldest first."""
    found = [_read(path) for path in home.glob("*.json") if _NUMBER.fullmatch(path.stem)]
    return sorted((order for order in found if order is not None), key=lambda order: order.begun_at)


def _read(path: Path) -> Order | None:
    try:
        told = json.loads(path.read_text("utf-8"))
        values = {each.name: told[each.name] for each in fields(Order)}
        files = tuple(SentFile(**row) for row in told["files"])
        return Order(**{**values, "number": path.stem, "files": files})
    except (OSError, ValueError, LookupError, TypeError):
        return None
