"""What every page is."""

from __future__ import annotations

from dataclasses import dataclass

from dashboard.parts import Part


@dataclass(frozen=True)
class Page:
    """A page: its title for the window, its content, and the entry of the navigation that it belongs to."""

    title: str
    content: Part
    section: str = ""
