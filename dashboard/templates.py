"""Markup from a folder of templates, whose values are escaped; also outside a request."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from dashboard.glossary import meaning


def filled(folder: Path, name: str, values: dict[str, Any]) -> str:
    """Return a template of a folder filled in."""
    return _templates(folder).get_template(f"{name}.html").render(values)


@cache
def _templates(folder: Path) -> Environment:
    made = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["meaning"] = meaning
    return made
