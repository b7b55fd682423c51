"""Slugs from titles."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.slugs import is_slug, slug_of, unique_slug


@pytest.mark.parametrize(
    ("title", "slug"),
    [
        ("Desh, gat in teental", "desh-gat-in-teental"),
        ("Rāga Deś: drut gat", "raga-des-drut-gat"),
        ("Miyan ki Malhar (2019)", "miyan-ki-malhar-2019"),
        ("desh_teental", "desh-teental"),
        ("राग देश", "recording"),
        ("../../etc/passwd", "etc-passwd"),
        ("", "recording"),
        ("word " * 40, "-".join(["word"] * 12)),
    ],
)
def test_a_title_becomes_a_readable_slug(title: str, slug: str) -> None:
    assert slug_of(title) == slug


@given(title=st.text(max_size=300))
def test_any_title_gives_a_slug(title: str) -> None:
    assert is_slug(slug_of(title))
    assert slug_of(slug_of(title)) == slug_of(title)


def test_a_taken_slug_gets_a_number() -> None:
    taken = {"desh", "desh-2"}
    assert unique_slug("Desh", taken.__contains__) == "desh-3"
