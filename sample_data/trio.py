"""The invented people, place and evenings of the sample performances; any likeness to real ones is an accident."""

from __future__ import annotations

VENUE = "Jheelghat Winter Evenings, Old Ferry House, Ambripur (invented)"
MUSICIANS = (
    ("mandolin", "Ilavati Sorethi"),
    ("tabla", "Devkant Umbralia"),
    ("tanpura", "Rimjhim Pelwade"),
)
NOTES = "Invented performance, rendered by sample_data/render.py; the sound is CC0."
