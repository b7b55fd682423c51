"""Markup from the templates of this folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from dashboard.templates import filled

_FOLDER = Path(__file__).parent / "templates" / "concerts"


def markup(name: str, values: dict[str, Any]) -> str:
    """Return a template filled in."""
    return filled(_FOLDER, name, values)
