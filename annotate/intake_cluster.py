"""Recordings taken in by a Dask cluster: each by a free worker, and by another when that is lost.

The workers see the archive and the sound files under the same names as this machine does (a shared folder). While they
are wanted a sign lies in the archive's ``unfinished/`` folder: by it a worker knows that its folder of that name is the
same one, and that nobody has stopped the run. That a recording comes in once, also where two workers believe it is
theirs, is seen to by the locks of :mod:`annotate.unfinished`, which the system frees when a process is gone.

Dask sends functions and arguments by pickle, so a cluster has to be one in which everybody trusts everybody.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from annotate.archive import Archive
from annotate.errors import AlreadyTakenIn, ArchiveError, BeingTakenIn, BrokenOff, ClusterOutOfReach
from annotate.files import make_folders
from annotate.intake import take_in
from annotate.intake_many import Order, Outcome, told_of
from annotate.intake_source import ROLES
from annotate.intake_stages import Step
from annotate.unfinished import AGE_S
from theory.errors import LayakoshError

if TYPE_CHECKING:
    from distributed import Client, Future

CONNECT_S = 10.0
"""How long the scheduler may take to answer."""
LOOK_EVERY_S = 1.0
"""How often it is looked whether something has ended, and by a worker whether it is still wanted."""
TELL_EVERY_S = 0.25
"""How often a worker tells how far it is: a scheduler with a hundred workers has other things to do."""
SIGN = "wanted-"


def take_in_by_cluster(
    address: str,
    archive: Archive,
    orders: Sequence[Order],
    tell: Callable[[int, Step], None] | None = None,
    ended: Callable[[int, Outcome], None] | None = None,
    say: Callable[[str], None] | None = None,
) -> list[Outcome]:
    """Take several recordings in on the workers of a cluster.

    Parameters
    ----------
    address : str
        The scheduler's: ``tcp://HOST:PORT``.
    archive : Archive
        On a disk that every worker sees under the same name.
    orders : sequence of Order
    tell, ended : callable, optional
        As for :func:`annotate.intake_many.take_in_each`.
    say : callable, optional
        Told in a line what happens to the workers.

    Returns
    -------
    list of Outcome
        In the order given.

    Raises
    ------
    ClusterOutOfReach
        ``distributed`` is not installed, nobody answers at the address, or the scheduler was lost on the way. What had
        come in by then is in the archive.
    """
    folder = archive.path.resolve()
    with _connected(address) as client, _wanted(folder) as sign:
        topic = f"layakosh-{secrets.token_hex(8)}"
        if tell is not None:
            client.subscribe_topic(topic, lambda event: tell(*_step_of(event[1])))
        futures: dict[Future[Any], int] = {
            client.submit(
                _work, str(folder), str(sign), _found_anywhere(order), topic, number,
                key=f"{topic}-{number}", pure=False,
            ): number
            for number, order in enumerate(orders)
        }  # fmt: skip
        return _gathered(client, address, orders, futures, ended or _nothing, say or _nothing)


def _gathered(
    client: Client,
    address: str,
    orders: Sequence[Order],
    futures: dict[Future[Any], int],
    ended: Callable[[int, Outcome], None],
    say: Callable[[str], None],
) -> list[Outcome]:
    """Wait for every order, tell of each as it ends, and of workers that come and go."""
    outcomes: dict[int, Outcome] = {}
    workers: set[str] | None = None
    while len(outcomes) < len(orders):
        try:
            workers = _told_of_workers(client, workers, say)
        except (OSError, TimeoutError):
            raise ClusterOutOfReach(
                f"The scheduler at {address} stopped answering; {len(outcomes)} of {len(orders)} recordings were done. "
                "When it runs again, give the same again: what is done is kept."
            ) from None
        for future, number in futures.items():
            if number not in outcomes and future.done():
                outcomes[number] = _outcome(orders[number], future)
                ended(number, outcomes[number])
        time.sleep(LOOK_EVERY_S)
    return [outcomes[number] for number in range(len(orders))]


def _told_of_workers(client: Client, before: set[str] | None, say: Callable[[str], None]) -> set[str]:
    """Say which workers there are at first, and which are lost or have come since; return those there now."""
    now = set(client.nthreads())
    if before is None:
        say(f"{len(now)} workers." if len(now) != 1 else "1 worker.")
        if not now:
            say("It begins when the scheduler has a worker: 'dask worker ADDRESS --nthreads 1' starts one.")
        return now
    for name in sorted(before - now):
        say(f"The worker {name} is lost. What it was at goes to another, which goes on from the stages done.")
    for name in sorted(now - before):
        say(f"The worker {name} has come.")
    return now


def _outcome(order: Order, future: Future[Any]) -> Outcome:
    """What became of an order whose task has ended."""
    if future.status == "finished":
        kind, text = future.result()
        return Outcome(order, slug=text) if kind == "slug" else Outcome(order, error=text)
    if future.status == "error":
        from distributed import KilledWorker

        error = future.exception()
        if isinstance(error, KilledWorker):
            lost = error.allowed_failures + 1
            return Outcome(order, error=f"{lost} workers ended while they were at it. Had they too little memory?")
        return Outcome(order, error=f"A worker failed at it: {type(error).__name__}: {error}")
    return Outcome(order, error="The scheduler gave it up. Give the same again: what is done is kept.")


# -- on the workers --------------------------------------------------------------------------------------------


def _work(folder: str, sign: str, order: Order, topic: str, number: int) -> tuple[str, str]:
    """Take one order in; return ``("slug", slug)``, or ``("error", what was wrong)``."""
    from distributed import get_worker

    worker = get_worker()
    try:
        if not Path(sign).is_file():
            raise ArchiveError(f"This run was stopped, or the folder {folder} is not the same there as here.")
        archive = Archive.open(folder)
        while True:
            try:
                # a worker may be a process that may have no children, so nothing runs beside it
                how = {"beside": False, **order.how}
                return "slug", take_in(archive, order.source, tell=_Teller(worker, topic, number, Path(sign)), **how)
            except AlreadyTakenIn as there:
                if there.withdrawn:
                    raise
                return "slug", there.slug  # by a worker that was believed lost, and was not
            except BeingTakenIn:
                _refuse_unwanted(Path(sign))  # that one is at it still: wait for how it ends
                time.sleep(LOOK_EVERY_S)
    except (LayakoshError, OSError) as error:
        return "error", f"on the worker {worker.address}: {told_of(error)}"


class _Teller:
    """Tells from a worker how far it is, now and then, and ends the work there when it is no longer wanted."""

    def __init__(self, worker: Any, topic: str, number: int, sign: Path) -> None:
        self._worker, self._topic, self._number, self._sign = worker, topic, number, sign
        self._told_s = self._looked_s = float("-inf")

    def __call__(self, step: Step) -> None:
        now_s = time.monotonic()
        if now_s - self._looked_s >= LOOK_EVERY_S:
            self._looked_s = now_s
            _refuse_unwanted(self._sign)
        if step.share == 1 or now_s - self._told_s >= TELL_EVERY_S:
            self._told_s = now_s
            told = [self._number, step.stage, float(step.share), float(step.overall), step.earlier]
            self._worker.log_event(self._topic, told)


def _refuse_unwanted(sign: Path) -> None:
    if not sign.is_file():
        raise BrokenOff("The run was stopped. What is done so far is kept; give the same again to go on.")


# -- on this machine -------------------------------------------------------------------------------------------


@contextmanager
def _connected(address: str) -> Iterator[Client]:
    try:
        from distributed import Client
    except ImportError:
        raise ClusterOutOfReach(
            "Taking in by a cluster needs the package 'distributed', which is not installed: "
            "pip install 'layakosh[cluster]' here and on every worker."
        ) from None
    try:
        client = Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise ClusterOutOfReach(
            f"No scheduler answers at '{address}' ({_first_line(error)}). The address is expected as tcp://HOST:PORT; "
            "'dask scheduler' prints it when it starts."
        ) from None
    with client:
        yield client


@contextmanager
def _wanted(folder: Path) -> Iterator[Path]:
    """Lay a sign into the archive that the workers are wanted, and take it away at the end, however that comes."""
    home = folder / "unfinished"
    make_folders(home)
    for old in home.glob(f"{SIGN}*"):
        if time.time() - old.stat().st_mtime > AGE_S:
            old.unlink(missing_ok=True)
    sign = home / f"{SIGN}{secrets.token_hex(8)}"
    sign.touch(exist_ok=False)
    try:
        yield sign
    finally:
        sign.unlink(missing_ok=True)


def _found_anywhere(order: Order) -> Order:
    """Return an order whose files are named from the root on."""
    sound = order.source.sound
    paths = {role: tuple(path.resolve() for path in getattr(sound, role)) for role in ROLES}
    return replace(order, source=replace(order.source, sound=replace(sound, **paths)))


def _step_of(told: Sequence[Any]) -> tuple[int, Step]:
    number, stage, share, overall, earlier = told
    return int(number), Step(str(stage), float(share), float(overall), bool(earlier))


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]


def _nothing(*_told: object) -> None:
    pass
