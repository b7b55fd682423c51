"""Logins that fail make one wait: longer each time, by address and by name, in bounded memory."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.access.attempts import (
    FORGOTTEN_AFTER_S,
    FREE,
    LONGEST_FOR_ADDRESS_S,
    LONGEST_FOR_NAME_S,
    MOST_ADDRESSES,
    NAME_BUCKETS,
    Attempts,
    network_of,
)


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


def fail(attempts: Attempts, clock: Clock, times: int, address: str, name: str) -> list[float]:
    """Fail so often, waiting as told each time; return the waits."""
    waits = []
    for _ in range(times):
        waits.append(attempts.begin(address, name))
        if waits[-1]:
            clock.now_s += waits[-1]
            assert attempts.begin(address, name) == 0
    return waits


def test_a_few_failures_cost_nothing_then_the_wait_doubles(clock: Clock) -> None:
    attempts = Attempts(clock)
    assert fail(attempts, clock, FREE + 4, "192.0.2.1", "Asha") == [0.0] * FREE + [1.0, 2.0, 4.0, 8.0]


def test_an_attempt_made_too_early_is_not_counted(clock: Clock) -> None:
    attempts = Attempts(clock)
    fail(attempts, clock, FREE, "192.0.2.1", "Asha")
    assert [attempts.begin("192.0.2.1", "Asha") for _ in range(5)] == [1.0] * 5


def test_many_attempts_at_once_gain_nothing(clock: Clock) -> None:
    attempts = Attempts(clock)
    let_through = sum(attempts.begin("192.0.2.1", "Asha") == 0 for _ in range(100))
    assert let_through == FREE


def test_guesses_at_one_person_from_many_places_are_slowed_but_nobody_is_locked_out(clock: Clock) -> None:
    attempts = Attempts(clock)
    for number in range(200):
        attempts.begin(f"192.0.2.{number}", "Asha")
        clock.now_s += LONGEST_FOR_NAME_S
    assert attempts.begin("198.51.100.1", "ASHA ") == 0  # a wait of a minute at the most, and that has passed
    assert attempts.begin("198.51.100.2", "asha") == LONGEST_FOR_NAME_S
    assert attempts.begin("198.51.100.2", "Devkant") == 0


def test_guesses_from_one_place_at_many_people_are_slowed_up_to_a_quarter_of_an_hour(clock: Clock) -> None:
    attempts = Attempts(clock)
    for number in range(40):
        clock.now_s += attempts.begin("192.0.2.1", f"person {number}")
        attempts.begin("192.0.2.1", f"person {number}")
    assert attempts.begin("192.0.2.1", "somebody else") == LONGEST_FOR_ADDRESS_S


def test_logging_in_forgives_the_name_and_one_attempt_of_the_address(clock: Clock) -> None:
    attempts = Attempts(clock)
    fail(attempts, clock, FREE - 1, "192.0.2.1", "Asha")
    attempts.begin("192.0.2.1", "Asha")
    attempts.succeeded("192.0.2.1", "Asha")
    assert attempts.begin("198.51.100.1", "Asha") == 0
    # somebody with an account of their own does not win free guesses at others by logging in between
    assert attempts.begin("192.0.2.1", "Devkant") == 0
    assert attempts.begin("192.0.2.1", "Devkant") == 1.0


def test_after_an_hour_of_quiet_all_is_forgotten(clock: Clock) -> None:
    attempts = Attempts(clock)
    fail(attempts, clock, FREE + 3, "192.0.2.1", "Asha")
    clock.now_s += FORGOTTEN_AFTER_S + 1
    assert fail(attempts, clock, FREE, "192.0.2.1", "Asha") == [0.0] * FREE


def test_memory_is_bounded_whoever_comes(clock: Clock) -> None:
    attempts = Attempts(clock)
    for number in range(MOST_ADDRESSES + 500):
        attempts.begin(f"10.{number >> 16}.{number >> 8 & 255}.{number & 255}", f"name {number}")
    assert len(attempts._known) == MOST_ADDRESSES
    assert len(attempts._names) <= NAME_BUCKETS


def test_the_addresses_that_one_customer_has_count_as_one() -> None:
    assert network_of("2001:db8:1:2:3::4") == network_of("2001:db8:1:2::ffff") == "2001:db8:1:2::/64"
    assert network_of("2001:db8:1:3::1") != network_of("2001:db8:1:2::1")
    assert network_of("::ffff:192.0.2.1") == network_of("192.0.2.1")
    assert network_of("fe80::1%eth0") == "fe80::/64"


@given(st.text(max_size=50), st.text(max_size=50))
def test_no_address_or_name_breaks_the_counting(address: str, name: str) -> None:
    attempts = Attempts()
    assert attempts.begin(address, name) == 0
    attempts.succeeded(address, name)
