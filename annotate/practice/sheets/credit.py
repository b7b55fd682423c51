"""Whose performance a sheet is taken from, when and where, in a line."""

from __future__ import annotations

from annotate.records import Recording


def credit(recording: Recording, licence: str = "") -> str:
    """Return it in a line: "Asha Rao (sitar), B. Sen (tabla), 13 December 2025, Old Hall", and what they allow."""
    plays: dict[str, list[str]] = {}
    for role, name in recording.musicians:
        plays.setdefault(name, []).append(role)
    musicians = [name + (f" ({', '.join(roles)})" if any(roles) else "") for name, roles in plays.items()]
    day = recording.performed_on
    when = f"{day.day} {day:%B %Y}" if day is not None else ""
    whose = ", ".join(filter(None, [*musicians, when, recording.venue])) or recording.title or recording.slug
    return f"{whose}. {licence}" if licence else whose
