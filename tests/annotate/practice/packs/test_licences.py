"""What a musician may choose, and what is said where nobody has chosen.

The names and addresses are those of Creative Commons, the short names those of the SPDX License List; from memory.
"""

from __future__ import annotations

import re

import pytest

from annotate.practice.packs.errors import BadLicence
from annotate.practice.packs.licences import LONGEST, NONE, STANDARD, licence_of


@pytest.mark.parametrize("text", ["CC-BY-NC-4.0", "cc-by-nc-4.0", " CC-BY-NC-4.0 "])
def test_a_licence_is_chosen_by_its_short_name_however_it_is_typed(text: str) -> None:
    found = licence_of(text)
    assert found.name == "Creative Commons Attribution-NonCommercial 4.0"
    assert found.address == "https://creativecommons.org/licenses/by-nc/4.0/"
    assert found.line == f"{found.name} ({found.address})"


def test_the_address_of_every_creative_commons_licence_follows_from_its_short_name() -> None:
    for key, licence in STANDARD.items():
        if key == "CC0-1.0":
            assert licence.address == "https://creativecommons.org/publicdomain/zero/1.0/"
        elif key != "students":
            kind, version = re.fullmatch(r"CC-(.+)-(\d\.\d)", key).groups()  # type: ignore[union-attr]
            assert licence.address == f"https://creativecommons.org/licenses/{kind.lower()}/{version}/"


def test_what_is_said_in_a_sentence_agrees_with_the_short_name() -> None:
    for key, licence in STANDARD.items():
        assert ("not commercially" in licence.says) == ("-NC-" in key), key
        assert ("unchanged" in licence.says) == ("-ND-" in key), key
        assert ("this same licence" in licence.says) == ("-SA-" in key), key
        assert ("name the musicians" in licence.says) == key.startswith("CC-BY"), key


def test_own_words_are_kept_as_they_are() -> None:
    found = licence_of("  केवल मेरे शिष्यों के लिए,\n  until 2027 ")
    assert (found.key, found.name, found.line) == ("own", "केवल मेरे शिष्यों के लिए, until 2027", found.name)


def test_a_mistyped_short_name_is_not_taken_for_own_words() -> None:
    with pytest.raises(BadLicence, match=r"'CC-BY-4' is no licence that is known; near it are CC-BY-4\.0"):
        licence_of("CC-BY-4")


@pytest.mark.parametrize("text", ["", "   ", "x" * (LONGEST + 1)])
def test_an_empty_or_endless_text_is_refused(text: str) -> None:
    with pytest.raises(BadLicence, match=r"Choose one of CC0-1\.0"):
        licence_of(text)


def test_without_a_choice_copying_is_not_allowed() -> None:
    assert "copying is not allowed" in NONE.says
