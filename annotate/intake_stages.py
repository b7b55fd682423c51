"""The stages of a taking in: what each finds, what it is made from, and how they are run.

A stage leaves files in the recording's folder-to-be and finds something small (numbers, texts), and both are kept
durably when it is done (see :mod:`annotate.unfinished`). What it is made from is a digest of this program's own code as
far as ingest goes, of what was asked of it, and of what the stages that it needs were made from: if all of that is as
it was, an earlier run's work is taken over, else the stage is done again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from annotate.beside import Beside
from annotate.errors import BrokenOff
from annotate.unfinished import Unfinished

Found = dict[str, Any]
"""What a stage found: whatever JSON holds."""

Share = Callable[[float], None]
"""Told the share of a stage that is done, 0 to 1."""


ALMOST = 0.999
"""Share told at most of a stage that is not done yet; 1 says that it is, durably."""


@dataclass(frozen=True)
class Step:
    """How far a taking in is: the stage in words, the share of it done, that of everything, and whether an earlier run
    had done the stage.
    """

    stage: str
    share: float
    overall: float
    earlier: bool = False


Tell = Callable[[Step], None]


@dataclass(frozen=True)
class Stage:
    """One stage of a taking in.

    Parameters
    ----------
    name, words : str
        For the file that keeps it, and for people; a stage without words is not worth telling of.
    work : callable
        Of a module, called as ``work(recording folder, what it is told, found by the stages it needs, share)``.
    asked : mapping
        What was asked of it, as ``repr`` tells it apart.
    given : mapping
        What it is also told and what makes no difference to the result: where the files lie.
    needs : tuple of str
        Names of the stages before it that it builds on.
    weight : float
        How long it takes beside the others, roughly.
    apart : bool
        Whether it may be done in a process of its own, beside those that come before the first that needs it. It needs
        none itself.
    """

    name: str
    words: str
    work: Callable[[Path, Mapping[str, Any], Mapping[str, Found], Share], Found]
    asked: Mapping[str, Any] = field(default_factory=dict)
    given: Mapping[str, Any] = field(default_factory=dict)
    needs: tuple[str, ...] = ()
    weight: float = 1.0
    apart: bool = False

    @property
    def told(self) -> dict[str, Any]:
        """Everything it is told."""
        return {**self.asked, **self.given}


def run_stages(stages: Sequence[Stage], unfinished: Unfinished, tell: Tell, beside: bool) -> dict[str, Found]:
    """Run stages in order, taking over what an earlier run has done.

    Parameters
    ----------
    stages : sequence of Stage
        Each after those that it needs.
    unfinished : Unfinished
    tell : callable
    beside : bool
        Whether the stages that may be done apart are done in processes of their own beside the others. Where such a
        process breaks off (it is killed for want of memory, or a script that calls this is not guarded by
        ``if __name__ == "__main__"``), the stage is done here, when it is needed or after the others.

    Returns
    -------
    dict
        What each found, by name.
    """
    made_from, far = _made_from(stages), _HowFar(stages, tell)
    found: dict[str, Found] = {}
    todo: list[Stage] = []
    for stage in stages:
        known = unfinished.done(stage.name, made_from[stage.name])
        if known is None:
            todo.append(stage)
        else:
            found[stage.name] = known
            far.is_at(stage, 1.0, earlier=True)
    aside = [stage for stage in todo if beside and stage.apart][: len(todo) - 1]
    running: list[_Aside] = []

    def finished(stage: Stage, what: Found) -> None:
        found[stage.name] = what
        unfinished.keep(stage.name, made_from[stage.name], what)
        far.is_at(stage, 1.0)

    def hear(wait_s: float = 0.0) -> None:
        for process in list(running):
            if process.hear(wait_s):
                running.remove(process)
                process.stop()
                try:
                    finished(process.stage, process.result())
                except BrokenOff:
                    again.append(process.stage)

    def do(stage: Stage) -> None:
        def share(done: float) -> None:
            hear()
            far.is_at(stage, min(done, ALMOST))

        while any(process.stage.name in stage.needs for process in running):
            hear(wait_s=1.0)
        for broken_off in [each for each in again if each.name in stage.needs]:
            again.remove(broken_off)
            do(broken_off)
        share(0.0)
        before = {name: found[name] for name in stage.needs}
        finished(stage, on_one_thread(stage.work, unfinished.recording, stage.told, before, share))

    again: list[Stage] = []
    try:
        for stage in aside:
            running.append(_Aside(stage, unfinished, far))
        for stage in todo:
            if stage not in aside:
                do(stage)
        while running:
            hear(wait_s=1.0)
        for stage in again:
            do(stage)
    finally:
        for process in running:
            process.stop()
    return found


def on_one_thread(work: Callable[..., Found], *arguments: Any) -> Found:
    """Do a stage's work with matrices multiplied on one thread.

    They are small, and the threads of a matrix library wait for each other by spinning: on two busy cores ten minutes
    of melody took 38 s of work with two threads and 2.5 s with one.
    """
    from threadpoolctl import threadpool_limits

    with threadpool_limits(limits=1, user_api="blas"):
        return work(*arguments)


class _HowFar:
    """Tells how far the stages are, each and all of them; what was told once is never taken back."""

    def __init__(self, stages: Sequence[Stage], tell: Tell) -> None:
        self._tell = tell
        self._total = sum(stage.weight for stage in stages)
        self._done: dict[str, float] = {}

    def is_at(self, stage: Stage, share: float, *, earlier: bool = False) -> None:
        share = max(share, self._done.get(stage.name, 0.0) / stage.weight)
        self._done[stage.name] = stage.weight * share
        if stage.words:
            self._tell(Step(stage.words, share, min(1.0, sum(self._done.values()) / self._total), earlier))


class _Aside:
    """A stage in a process of its own."""

    def __init__(self, stage: Stage, unfinished: Unfinished, far: _HowFar) -> None:
        self.stage, self._far = stage, far
        far.is_at(stage, 0.0)
        self._process = Beside(on_one_thread, stage.work, unfinished.recording, dict(stage.told), {})

    def hear(self, wait_s: float) -> bool:
        """Pass on how far it is; tell whether it has ended."""
        for share in self._process.heard(wait_s):
            self._far.is_at(self.stage, min(share, ALMOST))
        return self._process.ended

    def result(self) -> Found:
        found: Found = self._process.result()
        return found

    def stop(self) -> None:
        self._process.stop()


def _made_from(stages: Sequence[Stage]) -> dict[str, str]:
    """Digest of everything that each stage's result follows from, by name."""
    made_from: dict[str, str] = {}
    for stage in stages:
        told = [code_digest(), stage.name, repr(sorted(stage.asked.items())), [made_from[name] for name in stage.needs]]
        made_from[stage.name] = hashlib.sha256(json.dumps(told).encode()).hexdigest()
    return made_from


@cache
def code_digest() -> str:
    """Digest of the code and data that ingest's results follow from: any change in them makes a stage be done again."""
    import annotate
    import ingest
    import theory

    digest = hashlib.sha256()
    for package in (annotate, ingest, theory):
        for path in sorted(Path(str(package.__file__)).parent.rglob("*")):
            if path.suffix in (".py", ".toml", ".json"):
                digest.update(path.read_bytes())
    return digest.hexdigest()
