"""A pack of the invented concert in rupak of the dashboard's tests: a tihai and a phrase, made once."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.practice.packs.licences import licence_of
from annotate.practice.packs.making import Made, make_pack
from annotate.practice.packs.wishes import PackWishes
from annotate.practice.pieces import Piece, pieces
from tests.dashboard.conftest import SLUG, build_archive


@pytest.fixture(scope="session")
def concert(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """An archive with sound, that tests only look at."""
    return build_archive(tmp_path_factory.mktemp("concert") / "archive")


@pytest.fixture(scope="session")
def chosen(concert: Archive) -> tuple[Piece, ...]:
    return pieces(concert, [f"{SLUG}/t01"], [f"{SLUG}/p02"])


@pytest.fixture(scope="session")
def made(concert: Archive, chosen: tuple[Piece, ...], tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The pack as a folder, its sounds at two speeds and from the notation, worked on by two processes."""
    wishes = PackWishes(
        "Tihais in rupak <for> practice",
        licence_of("CC-BY-NC-4.0"),
        speeds=(Fraction(50), Fraction(100)),
        notation_speeds=(Fraction(100),),
    )
    return make_pack(concert, chosen, wishes, tmp_path_factory.mktemp("packs") / "rupak", workers=2)


@pytest.fixture(scope="session")
def place(made: Made) -> Path:
    return made.place


@pytest.fixture
def few() -> PackWishes:
    """A pack that is made at once: no sounds, no PDF."""
    return PackWishes("Few", speeds=(), notation_speeds=(), pdf=False)
