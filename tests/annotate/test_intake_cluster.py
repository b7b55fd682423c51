"""Recordings taken in by a cluster: a real scheduler and two worker processes, one of which is killed half way."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from distributed import Client

from annotate.archive import Archive
from annotate.errors import ClusterOutOfReach
from annotate.intake_cluster import SIGN, take_in_by_cluster
from annotate.intake_many import Order
from annotate.intake_source import look_at
from annotate.intake_stages import Step
from layakosh import main
from tests.annotate.tapes import make_tape

ROOT = Path(__file__).parents[2]
HOW = {"raga": "Desh", "tala": "teental"}
START_S = 60.0


class Cluster:
    """A scheduler and its workers on this machine, each a process."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._processes: list[subprocess.Popen[bytes]] = []
        note = folder / "scheduler.json"
        self.scheduler = self._run("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
                                   "--scheduler-file", str(note))  # fmt: skip
        self._note = note
        self.address = self._address()

    def add_worker(self) -> subprocess.Popen[bytes]:
        """Start a worker without a guardian that would start it again."""
        return self._run("worker", self.address, "--nthreads", "1", "--no-nanny", "--no-dashboard",
                         "--local-directory", str(self._folder))  # fmt: skip

    def wait_for_workers(self, count: int) -> None:
        with Client(self.address, timeout=START_S, set_as_default=False) as client:
            client.wait_for_workers(count, timeout=START_S)

    def stop(self) -> None:
        for process in self._processes:
            process.kill()
            process.wait()

    def _run(self, *told: str) -> subprocess.Popen[bytes]:
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"}
        log = (self._folder / f"{told[0]}-{len(self._processes)}.log").open("wb")
        with log:
            process = subprocess.Popen(
                [sys.executable, "-m", "distributed.cli.dask_" + told[0], *told[1:]],
                stdout=log, stderr=log, cwd=ROOT, env=environment,
            )  # fmt: skip
        self._processes.append(process)
        return process

    def _address(self) -> str:
        until_s = time.monotonic() + START_S
        while time.monotonic() < until_s:
            with contextlib.suppress(OSError, ValueError):
                return str(json.loads(self._note.read_text())["address"])
            assert self.scheduler.poll() is None, (self._folder / "scheduler-0.log").read_text()
            time.sleep(0.05)
        raise AssertionError("the scheduler did not start")


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Cluster]:
    (tmp_path / "cluster").mkdir()
    cluster = Cluster(tmp_path / "cluster")
    yield cluster
    cluster.stop()


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return Archive.create(tmp_path / "archive")


def make_orders(folder: Path, count: int, length_s: float = 8.0) -> list[Order]:
    tapes = [make_tape(folder / f"tape {number}.wav", length_s, seed=number) for number in range(count)]
    return [Order(look_at(tape), HOW) for tape in tapes]


def test_a_worker_killed_half_way_every_recording_is_taken_in_once_and_progress_is_told(
    cluster: Cluster, archive: Archive, tmp_path: Path
) -> None:
    orders = make_orders(tmp_path, 5)
    victim, survivor = cluster.add_worker(), cluster.add_worker()
    cluster.wait_for_workers(2)
    steps: list[tuple[int, Step]] = []
    said: list[str] = []
    ended: list[int] = []

    def kill_one_at_work() -> None:
        """As soon as two are half way: each worker is at work on one."""
        half_way = [number for number, step in dict(steps).items() if 0 < step.overall < 0.99]
        if victim.poll() is None and len(half_way) == 2:
            victim.send_signal(signal.SIGKILL)

    def tell(number: int, step: Step) -> None:
        steps.append((number, step))
        kill_one_at_work()

    outcomes = take_in_by_cluster(
        cluster.address, archive, orders, tell, lambda number, _: ended.append(number), said.append
    )
    assert victim.wait() == -signal.SIGKILL
    assert survivor.poll() is None
    assert [outcome.error for outcome in outcomes] == [""] * 5
    assert sorted(outcome.slug for outcome in outcomes) == archive.slugs() == [f"tape-{number}" for number in range(5)]
    assert {archive.state(slug).recording.audio_sha256 for slug in archive.slugs()} == {o.source.sha256 for o in orders}
    assert all(archive.state(slug).revision == 1 and archive.melody(slug) for slug in archive.slugs())
    assert sorted(ended) == list(range(5))
    assert {number for number, step in steps if step.overall == pytest.approx(1)} == set(range(5))
    assert any("is lost" in line for line in said), said
    assert list((archive.path / "unfinished").glob("*")) in ([], [archive.path / "unfinished" / "lock"])


def test_one_that_fails_is_told_with_its_worker_and_the_others_come_in(
    cluster: Cluster, archive: Archive, tmp_path: Path
) -> None:
    orders = make_orders(tmp_path, 2)
    orders[0].source.sound.whole[0].unlink()
    cluster.add_worker()
    outcomes = take_in_by_cluster(cluster.address, archive, orders)
    assert [outcome.slug for outcome in outcomes] == ["", "tape-1"]
    assert "on the worker tcp://" in outcomes[0].error
    assert "tape 0.wav" in outcomes[0].error


def test_a_run_that_is_stopped_stops_its_workers_and_the_next_run_goes_on(
    cluster: Cluster, archive: Archive, tmp_path: Path
) -> None:
    orders = make_orders(tmp_path, 1, length_s=240.0)  # long enough to be at work when it is looked again
    cluster.add_worker()

    def stop(_number: int, _step: Step) -> None:
        for sign in (archive.path / "unfinished").glob(f"{SIGN}*"):
            sign.unlink()  # what leaving the run does, here by another hand so that the answer can be seen

    outcomes = take_in_by_cluster(cluster.address, archive, orders, stop)
    assert "The run was stopped" in outcomes[0].error
    assert archive.slugs() == []
    assert [each.slug for each in take_in_by_cluster(cluster.address, archive, orders)] == ["tape-0"]


def test_a_scheduler_that_is_lost_on_the_way_is_a_message(cluster: Cluster, archive: Archive, tmp_path: Path) -> None:
    orders = make_orders(tmp_path, 1)  # no worker: it would wait for ever
    begun = threading.Event()
    threading.Thread(target=lambda: (begun.wait(), cluster.scheduler.kill()), daemon=True).start()
    with pytest.raises(ClusterOutOfReach, match="stopped answering; 0 of 1 recordings were done"):
        take_in_by_cluster(cluster.address, archive, orders, say=lambda _line: begun.set())
    assert list((archive.path / "unfinished").glob(f"{SIGN}*")) == []


def test_a_folder_is_taken_in_from_the_command_line(cluster: Cluster, archive: Archive, tmp_path: Path) -> None:
    (tmp_path / "tapes").mkdir()
    make_orders(tmp_path / "tapes", 2)
    cluster.add_worker()
    told = ["--raga", "Desh", "--tala", "teental", "--archive", str(archive.path), "--cluster", cluster.address]
    result = CliRunner().invoke(main, ["ingest", str(tmp_path / "tapes"), *told])
    assert (result.exit_code, result.stdout) == (0, "tape-0\ntape-1\n"), result.output
    assert "tape 1.wav: Following the cycle: done in" in result.stderr
    assert "worker" in result.stderr


def test_a_cluster_and_workers_of_this_machine_at_once_are_refused(archive: Archive, tmp_path: Path) -> None:
    told = ["--raga", "Desh", "--tala", "teental", "--archive", str(archive.path), "--workers", "2"]
    result = CliRunner().invoke(main, ["ingest", str(tmp_path), *told, "--cluster", "tcp://127.0.0.1:9"])
    assert result.exit_code == 2
    assert "--workers is for this machine alone" in result.stderr


def test_an_address_where_nobody_answers_is_a_message(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("annotate.intake_cluster.CONNECT_S", 1.0)
    for address in ("tcp://127.0.0.1:9", "no address at all"):
        with pytest.raises(ClusterOutOfReach, match=r"tcp://HOST:PORT"):
            take_in_by_cluster(address, archive, [])
