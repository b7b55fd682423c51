"""Taking in what was sent, one recording after the other, in a process beside the server.

Conventions: an order is worked on from its first stage that no earlier run has done, so a restart goes on where it was.
People see and cancel their own orders only. What has come into the archive, or was refused, stays listed until it is
dismissed or :data:`KEPT_S` old; sent files are removed when they are in the archive.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from annotate.archive import Archive
from annotate.beside import Beside
from annotate.intake_many import Came, SentSound, take_in_sent, told_of
from annotate.intake_stages import Step
from dashboard.access.at_hand import Person, Role, acting_as
from dashboard.access.guarded import refuse_reader
from dashboard.access.sending import Sendings
from dashboard.concerts import orders
from dashboard.concerts.orders import Order, SentFile
from dashboard.errors import SendingRefused
from theory.errors import LayakoshError

KEPT_S = 7 * 86400.0
"""How long an order that has ended stays listed."""
LISTEN_S = 0.5
SURE_FROM = 0.03
"""The share of the work from which on the time left can be told."""


@dataclass
class _InHand:
    """The order that is worked on: how far it is, since when, and how far an earlier run had come."""

    number: str
    began_s: float
    step: Step | None = None
    earlier: float | None = None
    cancelled: bool = False


class Work:
    """All orders of an archive; may be used from several threads.

    Parameters
    ----------
    archive : Archive
    sendings : Sendings
        What has come from browsers.
    """

    def __init__(self, archive: Archive, sendings: Sendings) -> None:
        self._archive, self._sendings = archive, sendings
        self._home: Path = archive.workshop / "unfinished" / "orders"
        self._lock = threading.Lock()
        self._orders = {order.number: order for order in orders.kept(self._home)}
        self._in_hand: _InHand | None = None
        self._thread: threading.Thread | None = None
        with self._lock:
            self._go_on()

    def begin(self, person: Person, title: str, files: Sequence[SentFile], how: Mapping[str, Any]) -> Order:
        """Order a recording to be taken in.

        Raises
        ------
        SendingRefused
            A file has not come as a whole, or is no sound, or is part of another order.
        MayNotEdit
            The person is a reader.
        """
        refuse_reader(person)
        named = [replace(file, name=self._sendings.find(person, file.number).shown) for file in files]
        for file in named:
            self._sendings.look(person, file.number)
        with self._lock:
            taken = {file.number for order in self._orders.values() for file in order.files}
            for file in named:
                if file.number in taken:
                    raise SendingRefused(f"{file.name} is being taken in already. Look under what is in hand.", 409)
            order = Order(secrets.token_hex(16), person.name, title, time.time(), tuple(named), dict(how))
            orders.keep(self._home, order)
            self._orders[order.number] = order
            self._go_on()
        return order

    def listed(self, person: Person) -> list[dict[str, Any]]:
        """Return a person's orders as plain values, the oldest first."""
        with self._lock:
            own = [order for order in self._orders.values() if order.by == person.name]
            ahead = [number for number, order in self._orders.items() if order.became == "waiting"]
            return [self._told(order, ahead) for order in own]

    def drop(self, person: Person, number: str) -> None:
        """Cancel an order, or dismiss one that has ended; its sent files are removed.

        Raises
        ------
        SendingRefused
            There is none of that number.
        """
        order = self._own(person, number)
        with self._lock:
            if self._in_hand is not None and self._in_hand.number == number:
                self._in_hand.cancelled = True
            self._forget(order)
        self._remove_sound(order)

    def again(self, person: Person, number: str) -> None:
        """Try an order again that could not be taken in.

        Raises
        ------
        SendingRefused
            There is none of that number, or it did not fail.
        """
        order = self._own(person, number)
        if order.became != "failed":
            raise SendingRefused(f"{order.title} did not fail, so there is nothing to try again.", 409)
        with self._lock:
            self._change(replace(order, became="waiting", said=""))
            self._go_on()

    def _own(self, person: Person, number: str) -> Order:
        refuse_reader(person)
        order = self._orders.get(number)
        if order is None or order.by != person.name:
            raise SendingRefused("Nothing of yours is in hand under that number. Load the page again.", 404)
        return order

    def _told(self, order: Order, ahead: Sequence[str]) -> dict[str, Any]:
        told: dict[str, Any] = {
            "number": order.number,
            "title": order.title,
            "became": order.became,
            "slug": order.slug,
            "said": order.said,
            "ahead": ahead.index(order.number) if order.number in ahead else 0,
        }
        here = self._in_hand
        if here is not None and here.number == order.number and here.step is not None:
            step = here.step
            told |= {"stage": step.stage, "share": round(step.share, 3), "overall": round(step.overall, 3)}
            told |= {"left_s": _left_s(here)}
        return told

    def _go_on(self) -> None:
        """See to it that somebody works while something waits; the lock is held."""
        waits = any(order.became == "waiting" for order in self._orders.values())
        if waits and (self._thread is None or not self._thread.is_alive()):
            self._thread = threading.Thread(target=self._work, name="taking in", daemon=True)
            self._thread.start()

    def _work(self) -> None:
        while True:
            with self._lock:
                self._sweep()
                order = next((each for each in self._orders.values() if each.became == "waiting"), None)
                if order is None:
                    self._in_hand = self._thread = None
                    return
                self._in_hand = here = _InHand(order.number, time.monotonic())
            ended = self._take_in(order, here)
            with self._lock:
                self._in_hand = None
                if not here.cancelled:
                    self._change(ended)
            if ended.became != "failed" or here.cancelled:
                self._remove_sound(order)

    def _take_in(self, order: Order, here: _InHand) -> Order:
        try:
            beside = Beside(take_in_sent, self._archive.store.place, self._sounds(order), order.told())
        except (LayakoshError, OSError) as error:
            return replace(order, became="failed", said=_plain(error))
        try:
            while not beside.ended and not here.cancelled:
                for step in beside.heard(wait_s=LISTEN_S):
                    here.earlier = step.overall if here.earlier is None else here.earlier
                    here.step = step
            came: Came = beside.result() if beside.ended else Came("", "")
        except (LayakoshError, OSError) as error:
            return replace(order, became="failed", said=_plain(error))
        finally:
            beside.stop()
        return replace(order, became="known" if came.known else "taken in", slug=came.slug, said=came.known)

    def _sounds(self, order: Order) -> list[SentSound]:
        owner = Person(order.by, Role.ANNOTATOR)
        found = [(self._sendings.find(owner, file.number).sound, file) for file in order.files]
        return [SentSound(str(path), file.name, file.role) for path, file in found]

    def _change(self, order: Order) -> None:
        self._orders[order.number] = order
        orders.keep(self._home, order)

    def _forget(self, order: Order) -> None:
        self._orders.pop(order.number, None)
        orders.drop(self._home, order.number)

    def _sweep(self) -> None:
        for order in list(self._orders.values()):
            if order.became != "waiting" and time.time() - order.begun_at > KEPT_S:
                self._forget(order)

    def _remove_sound(self, order: Order) -> None:
        owner = Person(order.by, Role.ANNOTATOR)
        with acting_as(owner):
            for file in order.files:
                try:
                    self._sendings.drop(owner, file.number)
                except SendingRefused:
                    continue  # it has gone already


def _left_s(here: _InHand) -> float | None:
    """Return the time left as the work so far lets one expect; None while that is too little to tell."""
    if here.step is None or here.earlier is None:
        return None
    done = here.step.overall - here.earlier
    if done < SURE_FROM:
        return None
    return round((time.monotonic() - here.began_s) * (1 - here.step.overall) / done, 1)


def _plain(error: LayakoshError | OSError) -> str:
    """Say what was wrong, without the places of files on the server."""
    if isinstance(error, OSError):
        return told_of(OSError(error.errno, error.strerror))
    return str(error)
