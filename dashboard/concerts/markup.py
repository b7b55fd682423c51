"""Markup from the templates of this folder, whose values are escaped; also outside a request."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from dashboard.glossary import meaning


def markup(name: str, values: dict[str, Any]) -> str:
    """Return a template filled in."""
    return _templates().get_template(f"{name}.html").render(values)


@cache
def _templates() -> Environment:
    folder = Path(__file__).parent / "templates" / "concerts"
    made = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["meaning"] = meaning
    return made
