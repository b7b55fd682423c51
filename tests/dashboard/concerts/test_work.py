"""Recordings taken in beside the server: in their turn, going on after a restart, cancelled, told when known."""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from annotate.archive import Archive
from annotate.intake_many import Came, SentSound
from annotate.intake_stages import Step
from dashboard.access.at_hand import Person, Role
from dashboard.access.sending import Sendings
from dashboard.concerts import work as at_work
from dashboard.concerts.orders import SentFile, kept
from dashboard.concerts.work import Work
from dashboard.errors import MayNotEdit, SendingRefused
from theory.errors import LayakoshError

ASHA, DEVKANT = Person("Asha", Role.ANNOTATOR), Person("Devkant", Role.ANNOTATOR)
HOW = {
    "raga": "desh",
    "tala": ["teental"],
    "performed_on": "2026-03-07",
    "musicians": [["mandolin", "Asha"]],
    "who": "Asha",
}


def outcome_of(files: Sequence[SentSound], how: Mapping[str, Any]) -> Came:
    """What becomes of a recording in these tests, by its title."""
    match how["title"]:
        case "broken":
            raise LayakoshError("It is damaged from 0:03 on.")
        case "known":
            return Came("an-evening", "evening.flac is already in the archive as 'an-evening'.")
    return Came(f"{how['title']}-with-{len(files)}")


class AtOnce:
    """Stands for the process beside: works when it is listened to, and never ends on what is titled ``endless``."""

    begun: list[Mapping[str, Any]]

    def __init__(
        self, _function: Callable[..., Any], _place: str, files: Sequence[SentSound], how: Mapping[str, Any]
    ) -> None:
        self._files, self._how = files, how
        self.begun.append(dict(how) | {"files": [(file.name, Path(file.path).exists()) for file in files]})

    ended = property(lambda self: self._how["title"] != "endless")

    def heard(self, wait_s: float = 0.0) -> list[Step]:
        time.sleep(min(wait_s, 0.01))
        return [Step("listening", 0.5, 0.25)]

    def result(self) -> Came:
        return outcome_of(self._files, self._how)

    def stop(self) -> None:
        pass


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Archive:
    monkeypatch.setattr(AtOnce, "begun", [], raising=False)
    monkeypatch.setattr(at_work, "Beside", AtOnce)
    return Archive.create(tmp_path / "archive")


def sent(sendings: Sendings, person: Person = ASHA, name: str = "evening.flac") -> SentFile:
    sound = io.BytesIO()
    soundfile.write(sound, np.zeros(2205), 22050, format="FLAC")
    size = len(sound.getvalue())
    sound.seek(0)
    number = sendings.begin(person, name, size).number
    sendings.add(person, number, 0, sound, size)
    return SentFile(number, "")


def until(work: Work, became: str, person: Person = ASHA) -> dict[str, Any]:
    for _ in range(3000):
        for order in work.listed(person):
            if order["became"] == became and ("stage" in order or became != "waiting"):
                return order
        time.sleep(0.01)
    raise AssertionError(work.listed(person))


def test_what_was_sent_is_taken_in_under_its_own_names_and_its_pieces_are_removed(archive: Archive) -> None:
    sendings = Sendings(archive.workshop, largest=10**6)
    work = Work(archive, sendings)
    work.begin(ASHA, "evening", [sent(sendings), sent(sendings, name="side b.flac")], HOW)
    assert until(work, "taken in")["slug"] == "evening-with-2"
    assert AtOnce.begun[0]["files"] == [("evening.flac", True), ("side b.flac", True)]
    assert str(AtOnce.begun[0]["performed_on"]) == "2026-03-07"
    assert AtOnce.begun[0]["musicians"] == (("mandolin", "Asha"),)
    for _ in range(3000):
        if not list((archive.workshop / "unfinished" / "sent").iterdir()):
            break
        time.sleep(0.01)
    assert list((archive.workshop / "unfinished" / "sent").iterdir()) == []
    assert work.listed(DEVKANT) == []


def test_what_is_known_or_broken_is_told_and_what_failed_can_be_tried_again(archive: Archive) -> None:
    sendings = Sendings(archive.workshop, largest=10**6)
    work = Work(archive, sendings)
    work.begin(ASHA, "known", [sent(sendings)], HOW)
    assert until(work, "known")["slug"] == "an-evening"
    number = work.begin(ASHA, "broken", [sent(sendings)], HOW).number
    assert until(work, "failed")["said"] == "It is damaged from 0:03 on."
    work.again(ASHA, number)
    until(work, "failed")
    assert [how["title"] for how in AtOnce.begun] == ["known", "broken", "broken"]
    work.drop(ASHA, number)
    assert [order["title"] for order in work.listed(ASHA)] == ["known"]


def test_an_order_goes_on_after_a_restart_and_is_gone_once_cancelled(archive: Archive) -> None:
    sendings = Sendings(archive.workshop, largest=10**6)
    work = Work(archive, sendings)
    number = work.begin(ASHA, "endless", [sent(sendings)], HOW).number
    told = until(work, "waiting")
    assert (told["stage"], told["overall"]) == ("listening", 0.25)
    work.begin(ASHA, "evening", [sent(sendings)], HOW)
    assert work.listed(ASHA)[1]["ahead"] == 1

    again = Work(archive, Sendings(archive.workshop, largest=10**6))  # what a new server finds
    assert until(again, "waiting")["number"] == number
    again.drop(ASHA, number)
    until(again, "taken in")
    work.drop(ASHA, number)
    assert number not in [order.number for order in kept(archive.workshop / "unfinished" / "orders")]


def test_others_and_readers_have_no_hand_in_it(archive: Archive) -> None:
    sendings = Sendings(archive.workshop, largest=10**6)
    work = Work(archive, sendings)
    file = sent(sendings)
    with pytest.raises(SendingRefused, match="Nothing of yours"):
        work.begin(DEVKANT, "evening", [file], HOW)
    with pytest.raises(MayNotEdit):
        work.begin(Person("Obeyan", Role.READER), "evening", [file], HOW)
    number = work.begin(ASHA, "broken", [file], HOW).number
    with pytest.raises(SendingRefused, match="taken in already"):
        work.begin(ASHA, "twice", [file], HOW)
    with pytest.raises(SendingRefused, match="Nothing of yours"):
        work.drop(DEVKANT, number)
