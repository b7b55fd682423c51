"""Work done aside: asked for again and again until it is done, done once for all who ask, and anew after a fault."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest

from dashboard import later as module
from dashboard.later import Later, Tell


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "SOON_S", 0.01)


def until_done(later: Later[str], key: str) -> str:
    while not (answer := later.ask(key, never)).done:
        pass
    assert answer.result is not None
    return answer.result


def _until_it_fails(later: Later[str], work: Callable[[Tell], str]) -> None:
    while True:
        later.ask("key", work)


def never(_tell: Tell) -> str:
    raise AssertionError("it was done already")


def test_who_asks_while_the_work_goes_on_is_told_how_far_it_is() -> None:
    later: Later[str] = Later()
    told, go_on = threading.Event(), threading.Event()

    def work(tell: Tell) -> str:
        tell(0.25)
        told.set()
        go_on.wait(60)
        return "counted"

    later.ask("key", work)
    assert told.wait(60)
    answer = later.ask("key", never)
    assert (answer.done, answer.result, answer.share) == (False, None, 0.25)
    go_on.set()
    assert until_done(later, "key") == "counted"


def test_work_of_another_key_is_done_of_its_own() -> None:
    later: Later[str] = Later()
    for key in ("a", "b"):
        later.ask(key, lambda _tell, key=key: key.upper())  # type: ignore[misc]
    assert [until_done(later, key) for key in ("a", "b")] == ["A", "B"]


def test_a_fault_is_told_to_who_asks_and_the_work_is_tried_again() -> None:
    later: Later[str] = Later()

    def fail(_tell: Tell) -> str:
        raise ValueError("the disk is away")

    with pytest.raises(ValueError, match="the disk is away"):
        _until_it_fails(later, fail)
    later.ask("key", lambda _tell: "counted")
    assert until_done(later, "key") == "counted"


def test_what_was_asked_longest_ago_is_forgotten_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "KEPT", 2)
    later: Later[str] = Later()
    for key in ("a", "b"):
        later.ask(key, lambda _tell: "first")
        until_done(later, key)
    until_done(later, "a")
    later.ask("c", lambda _tell: "first")
    until_done(later, "c")
    assert until_done(later, "a") == "first"
    later.ask("b", lambda _tell: "second")
    while not (answer := later.ask("b", lambda _tell: "third")).done:
        pass
    assert answer.result == "second"
