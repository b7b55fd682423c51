"""A file of one's own talas and ragas, whatever stands in it: it is read, or refused in words."""

from __future__ import annotations

import random
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from theory.errors import BadData
from theory.own import load_own

GOOD = """
[[tala]]
key = "five"
name = "Five"
matras = 5
vibhags = [2, 3]
marks = "X@1 2@3"
theka = "Dhi Na | Dhi Dhi Na"
mukhra = [{ gat = "any", matra = "4 1/2" }]
source = "my teacher"

[[tala.variant]]
key = "khali"
marks = "X@1 0@3"
source = "my own"

[[tala]]
key = "teental/my-teacher"
theka = "Dha Dhin Dhin Dha | Dha Dhin Dhin Dha | Na Tin Tin Na | Na Dhin Dhin Dha"
source = "my teacher"

[[raga]]
key = "chandra"
name = "Chandra"
aroha = "S g m d N S'"
avaroha = "S' N d m g S"
source = "my own"
"""

pieces = st.sampled_from(
    [
        *"[]{}\"'=.,#|-_@/: \n", "[[tala]]\n", "[[raga]]\n", "[[tala.variant]]\n", "[tala]\n", "0", "-1", "1.5", "nan",
        "true", "9" * 30, "1979-05-27", '"""', "key",
        "matras", "vibhags", "theka", "aroha", "Dha", "S'", "\x00", "\ufeff", "é",
    ]
)  # fmt: skip


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("own") / "own.toml"


@given(content=st.binary(max_size=300))
@settings(max_examples=100)
def test_any_bytes(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    with suppress(BadData):
        load_own(path)


@given(content=st.lists(pieces, max_size=40))
@settings(max_examples=150)
def test_any_text_of_pieces_that_mean_something(path: Path, content: list[str]) -> None:
    path.write_text("".join(content), "utf-8")
    with suppress(BadData):
        load_own(path)


@given(seed=st.integers(0, 2**32), inserted=st.lists(pieces, min_size=1, max_size=3))
@settings(max_examples=200)
def test_a_good_file_with_a_few_places_changed(path: Path, seed: int, inserted: list[str]) -> None:
    text, rng = GOOD, random.Random(seed)
    for piece in inserted:
        place = rng.randrange(len(text))
        text = text[:place] + piece + text[place + rng.randrange(4) :]
    path.write_text(text, "utf-8")
    with suppress(BadData):
        load_own(path)


def test_the_good_file_is_read(path: Path) -> None:
    path.write_text("\ufeff" + GOOD, "utf-8")
    assert [tala.key for tala in load_own(path).talas] == ["five", "teental/my-teacher", "five/khali"]


@pytest.mark.parametrize("content", ["a = " + "[\n" * 50_000, "a = " + "{b = " * 700, "a." * 50_000 + "b = 1"])
def test_depth_without_end_is_refused(path: Path, content: str) -> None:
    path.write_text(content)
    with pytest.raises(BadData, match=r"own\.toml"):
        load_own(path)


def test_a_file_that_is_too_large_is_refused(path: Path) -> None:
    path.write_text(GOOD + "#\n" * 2**18)
    with pytest.raises(BadData, match=r"own\.toml is larger than 256 kB"):
        load_own(path)
