"""How stages are run: in order, beside each other, and not twice."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from annotate.errors import ArchiveError, BadOrder
from annotate.intake_stages import Stage, Step, run_stages
from annotate.unfinished import Unfinished, work_on


def note(folder: Path, told: Mapping[str, Any], found: Mapping[str, Any], share: Callable[[float], None]) -> Any:
    """Write down the process that does it, and what the stages before found."""
    share(0.5)
    (folder / told["name"]).write_text(f"{os.getpid()}")
    return {"name": told["name"], "before": sorted(found)}


def killed_in_a_process_of_its_own(folder: Path, told: Mapping[str, Any], *rest: Any) -> Any:
    """Be killed beside its parent, and do it within it."""
    if os.getpid() != told["parent"]:
        os.kill(os.getpid(), signal.SIGKILL)
    return note(folder, told, *rest)


def refuse(*_arguments: Any) -> Any:
    """Refuse the work."""
    raise BadOrder("It cannot be done.")


@pytest.fixture
def work(tmp_path: Path) -> Unfinished:
    with work_on(tmp_path, "0123456789abcdef", "a recording") as work:
        return work


def stage(
    name: str, needs: tuple[str, ...] = (), work: Callable[..., Any] = note, apart: bool = False, **asked: object
) -> Stage:
    return Stage(name, name.title(), work, {"name": name, **asked}, needs=needs, apart=apart)


def test_each_stage_is_told_what_those_it_needs_have_found(work: Unfinished) -> None:
    found = run_stages([stage("a"), stage("b"), stage("c", ("a", "b"))], work, lambda _step: None, beside=False)
    assert found["c"] == {"name": "c", "before": ["a", "b"]}
    assert {path.read_text() for path in work.recording.iterdir()} == {str(os.getpid())}


def test_what_is_done_is_taken_over_until_what_was_asked_of_it_or_of_one_it_needs_changes(work: Unfinished) -> None:
    def earlier(first: Stage) -> list[str]:
        steps: list[Step] = []
        run_stages([first, stage("b"), stage("c", ("a",))], work, steps.append, beside=False)
        assert steps[-1].overall == pytest.approx(1)
        return [step.stage for step in steps if step.earlier]

    assert earlier(stage("a")) == []
    assert earlier(stage("a")) == ["A", "B", "C"]
    assert earlier(stage("a", louder=True)) == ["B"]


def test_a_stage_that_may_be_done_apart_runs_beside_the_others(work: Unfinished) -> None:
    run_stages([stage("a"), stage("b", apart=True), stage("c", ("a",))], work, lambda _step: None, beside=True)
    processes = {path.name: path.read_text() for path in work.recording.iterdir()}
    assert processes["a"] == processes["c"] == str(os.getpid()) != processes["b"]


@pytest.mark.parametrize("beside", [True, False])
def test_a_stage_that_needs_one_done_apart_waits_for_it(work: Unfinished, beside: bool) -> None:
    plan = [stage("a"), stage("b", apart=True), stage("c", ("a",)), stage("d", ("b", "c"))]
    found = run_stages(plan, work, lambda _step: None, beside=beside)
    assert found["d"] == {"name": "d", "before": ["b", "c"]}
    processes = {path.name: path.read_text() for path in work.recording.iterdir()}
    assert (processes["b"] != str(os.getpid())) == beside


def test_what_breaks_off_beside_is_done_here_before_the_one_that_needs_it(work: Unfinished) -> None:
    alone = stage("b", (), killed_in_a_process_of_its_own, apart=True, parent=os.getpid())
    found = run_stages([stage("a"), alone, stage("c", ("a", "b"))], work, lambda _step: None, beside=True)
    assert found["c"] == {"name": "c", "before": ["a", "b"]}


def test_what_breaks_off_beside_is_done_here_and_what_is_refused_is_refused(work: Unfinished) -> None:
    parent = os.getpid()
    alone = stage("b", (), killed_in_a_process_of_its_own, apart=True, parent=parent)
    found = run_stages([stage("a"), alone, stage("c", ("a",))], work, lambda _step: None, beside=True)
    assert found["b"]["name"] == "b"
    assert (work.recording / "b").read_text() == str(parent)
    with pytest.raises(ArchiveError, match=r"It cannot be done\."):
        run_stages(
            [stage("d"), stage("e", (), refuse, apart=True), stage("f", ("d",))], work, lambda _step: None, beside=True
        )
