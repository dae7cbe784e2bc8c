"""Processes that are killed: the whole, a worker of a pool, a worker of a cluster."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest

import ascentopt as ao
from tests.studies.sweep.sweeping import grid, largest_difference, swept

pytestmark = pytest.mark.slow

SIDES = (4, 3)
ROOT = Path(__file__).parents[3]


@cache
def whole() -> ao.Sweep:
    return swept(grid(*SIDES))


class Killer:
    """Kills a process once so many solves are finished."""

    def __init__(self, after: int, victim: Callable[[], int]) -> None:
        self.after, self.victim, self.killed = after, victim, 0
        self.told: list[str] = []

    def __call__(self, step: ao.Step[Any]) -> None:
        self.told.append(step.doing)
        if step.done >= self.after and not self.killed:
            self.killed = self.victim()
            os.kill(self.killed, signal.SIGKILL)


def test_a_process_that_is_killed_goes_on_where_it_stopped(tmp_path: Path) -> None:
    folder = tmp_path / "store"
    command = [sys.executable, "-m", "tests.studies.sweep.sweeping", str(folder), *map(str, SIDES)]
    run = subprocess.Popen(command, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)})
    try:
        until = monotonic() + 120.0
        while len(list(folder.glob("*.answer.json"))) < 4 and monotonic() < until:
            sleep(0.01)
    finally:
        run.send_signal(signal.SIGKILL)
        run.wait()
    kept = len(list(folder.glob("*.answer.json")))
    assert 4 <= kept < 12
    doing: list[str] = []
    found = swept(grid(*SIDES), store=folder, progress=lambda step: doing.append(step.doing))
    assert sum("(from the store)" in one for one in doing) == kept
    assert largest_difference(found, whole()) < 1e-6


def test_a_pool_of_two_processes_finds_the_same() -> None:
    with ProcessPoolExecutor(2) as pool:
        assert largest_difference(swept(grid(*SIDES), executor=pool), whole()) < 1e-6


def test_a_pool_whose_worker_is_killed_is_made_again() -> None:
    pools: list[ProcessPoolExecutor] = []

    def make() -> ProcessPoolExecutor:
        pools.append(ProcessPoolExecutor(2))
        return pools[-1]

    killer = Killer(3, lambda: next(iter(pools[0]._processes)))
    found = swept(grid(*SIDES), executor=make, progress=killer)
    assert killer.killed
    assert len(pools) == 2
    assert any("its worker was lost" in one for one in killer.told)
    assert largest_difference(found, whole()) < 1e-6


def test_a_pool_that_breaks_leaves_the_store_whole(tmp_path: Path) -> None:
    with ProcessPoolExecutor(2) as pool:
        killer = Killer(3, lambda: next(iter(pool._processes)))
        with pytest.raises(Exception, match="terminated abruptly") as told:
            swept(grid(*SIDES), executor=pool, progress=killer, store=tmp_path)
    assert any("call it again to go on" in one for one in told.value.__notes__)
    assert largest_difference(swept(grid(*SIDES), store=tmp_path), whole()) < 1e-6


@pytest.mark.filterwarnings("default")  # of the cluster's own code
def test_a_cluster_whose_worker_is_killed_finds_the_same() -> None:
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        killer = Killer(3, lambda: next(iter(client.run(os.getpid).values())))
        found = swept(grid(*SIDES), executor=client.get_executor(), progress=killer)
    assert killer.killed
    assert largest_difference(found, whole()) < 1e-6
