"""Passwords are kept as scrypt's results; a check takes as long for somebody who is not known."""

from __future__ import annotations

import hashlib
import time

import pytest

from dashboard.access.passwords import is_right, kept
from dashboard.errors import BadPerson


@pytest.fixture(scope="module")
def kept_password() -> str:
    return kept("seven blue lamps", "Asha")


def test_what_is_kept_is_scrypt_of_the_password_as_the_standard_library_computes_it(kept_password: str) -> None:
    """RFC 7914 by OpenSSL, through hashlib, is outside werkzeug's own code path for checking."""
    method, salt, digits = kept_password.split("$")
    assert method == "scrypt:32768:8:3"
    expected = hashlib.scrypt(b"seven blue lamps", salt=salt.encode(), n=32768, r=8, p=3, maxmem=132 * 32768 * 8 * 3)
    assert digits == expected.hex()


def test_the_same_password_is_kept_differently_each_time(kept_password: str) -> None:
    assert kept("seven blue lamps", "Asha") != kept_password
    assert "blue" not in kept_password


def test_the_right_password_is_right_and_others_are_not(kept_password: str) -> None:
    assert is_right("seven blue lamps", kept_password)
    assert not is_right("seven blue lamp", kept_password)
    assert not is_right("", kept_password)
    assert not is_right("x" * 100_000, kept_password)


def test_letters_composed_by_another_keyboard_are_the_same_password() -> None:
    composed, apart = "grün wie der Tal", "gru\u0308n wie der Tal"
    assert is_right(apart, kept(composed, "Asha"))


def test_nobody_has_a_right_password_and_it_takes_as_long_to_say_so(kept_password: str) -> None:
    is_right("warm up", None)  # what is compared with is made once

    def fastest_s(kept_one: str | None) -> float:
        times = []
        for _ in range(3):
            began_s = time.thread_time()
            assert not is_right("not the right one", kept_one)
            times.append(time.thread_time() - began_s)
        return min(times)

    known_s, unknown_s = fastest_s(kept_password), fastest_s(None)
    # the same derivation with the same cost, in time of the processor: other work on the machine does not count
    assert 0.7 < known_s / unknown_s < 1.4


@pytest.mark.parametrize(
    ("password", "why"),
    [
        ("short", "10 to 256 characters"),
        ("x" * 257, "10 to 256 characters"),
        ("aaaaaaaaaaaaaa", "guessed at once"),
        ("asha tolasar", "guessed at once"),
        ("seven\x00blue lamps", "typed"),
    ],
)
def test_a_password_that_is_no_good_is_refused_with_the_reason(password: str, why: str) -> None:
    with pytest.raises(BadPerson, match=why):
        kept(password, "Asha Tolasar")
