"""Names of people and of the files they send: whatever is typed, what is kept is a name and never a path."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.access.names import LONGEST_FILE_NAME, LONGEST_NAME, person_name, same_name, shown_file_name
from dashboard.errors import BadPerson


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("  Asha   Rao ", "Asha Rao"),
        ("आशा", "आशा"),
        ("D'Souza-2", "D'Souza-2"),
        ("José", "José"),
        ("7th_listener", "7th_listener"),
    ],
)
def test_a_name_is_kept_as_it_is_written_but_for_spaces_and_composition(typed: str, kept: str) -> None:
    assert person_name(typed) == kept


@pytest.mark.parametrize(
    "typed", ["", "   ", "-rf", "a/b", "a\\b", "a\x00b", "a<b>", "a\u202eb", "x" * 41, "'x", "a;b", "a\u200bb"]
)
def test_what_is_no_name_is_refused_with_the_reason(typed: str) -> None:
    with pytest.raises(BadPerson, match="letters, digits, spaces"):
        person_name(typed)


@given(st.text(max_size=60))
def test_every_name_is_refused_or_kept_safe_and_stays_the_same(typed: str) -> None:
    try:
        name = person_name(typed)
    except BadPerson:
        return
    assert 1 <= len(name) <= LONGEST_NAME
    assert person_name(name) == name
    assert same_name(name) == same_name(typed)
    assert not set(name) & set('/\\<>"&\x00\n\r;:')
    assert all(unicodedata.category(sign)[0] in "LNMPZ" for sign in name)


@given(st.text(max_size=40))
def test_two_spellings_of_a_name_are_one(typed: str) -> None:
    assert same_name(f" {typed} ") == same_name(typed)
    assert same_name(same_name(typed)) == same_name(typed)


def test_upper_and_lower_case_and_wide_letters_are_one_name() -> None:
    assert same_name("ASHA  Rao") == same_name("asha rao") == same_name("Ａsha Rao")


@pytest.mark.parametrize(
    ("sent", "shown"),
    [
        ("evening.flac", "evening.flac"),
        ("../../etc/passwd", "passwd"),
        ("C:\\Music\\evening.wav", "evening.wav"),
        ("a\x00b\r\nc.wav", "abc.wav"),
        ("..", "a recording"),
        ("", "a recording"),
        ("राग देश.mp3", "राग देश.mp3"),
    ],
)
def test_a_files_name_is_shown_without_its_folders_and_steering_signs(sent: str, shown: str) -> None:
    assert shown_file_name(sent) == shown


@given(st.text(max_size=300))
def test_no_file_name_shown_is_a_path(sent: str) -> None:
    shown = shown_file_name(sent)
    assert 1 <= len(shown) <= LONGEST_FILE_NAME
    assert not set(shown) & set("/\\\x00\n\r")
    assert shown not in (".", "..")
    assert all(unicodedata.category(sign)[0] != "C" for sign in shown)
