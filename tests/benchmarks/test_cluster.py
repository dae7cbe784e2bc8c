"""A sweep's schedule played on many workers: more of them are never slower, to what is serial."""

from __future__ import annotations

import pytest

from benchmarks.cluster import Seconds, on_grid, seconds_on
from benchmarks.many import INCLINATIONS, PAYLOADS, STEPS, cases, grid

ALIKE = Seconds(cold=(2.0,), warm=(0.5,))


def test_one_worker_takes_all_seconds() -> None:
    taken = seconds_on(on_grid((10, 5)), 1, ALIKE, handled=0.0)
    assert taken == pytest.approx(2.0 + 49 * 0.5)


def test_many_workers_wait_for_the_longest_way() -> None:
    taken = seconds_on(on_grid((10, 5)), 10**6, ALIKE, handled=0.0)
    assert taken == pytest.approx(2.0 + 7 * 0.5)


def test_more_workers_take_no_longer() -> None:
    neighbours = on_grid((20, 10))
    taken = [seconds_on(neighbours, count, ALIKE, handled=0.0) for count in (1, 2, 4, 8, 16, 64)]
    assert taken == sorted(taken, reverse=True)
    assert taken[0] / taken[1] > 1.9


def test_who_hands_out_is_one() -> None:
    neighbours = on_grid((20, 10))
    assert seconds_on(neighbours, 10**6, ALIKE, handled=1.0) >= 200.0


def test_a_sweep_has_fifty_points_of_payload_by_inclination() -> None:
    for steps in STEPS:
        for _, vehicle, mission in cases():
            sides = grid(vehicle, mission, steps)
            assert [len(side) for side in sides.values()] == [PAYLOADS, INCLINATIONS]
            assert sides["payload_mass"][-1] == vehicle.payload_mass
