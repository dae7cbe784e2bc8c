"""Dispersed flights of a plan that is a straight line in what is off: all is known beforehand."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.errors import InputError, OutOfTime
from ascentopt.studies.dispersions import disperse as module
from ascentopt.studies.dispersions import dispersed_flights
from tests.studies.dispersions.linear import NOMINAL, LinearFlight, outcomes
from tests.studies.wren import MISSION, VEHICLE

THRUST = ao.ThrustDispersion("lower", ao.Normal(0.01))
ISP = ao.IspDispersion("lower", ao.Normal(0.004))
DRAG = ao.DragDispersion(ao.Uniform(0.2))
PAYLOAD = ao.PayloadDispersion(ao.Normal(2.0))
SCATTER = (THRUST, ISP, DRAG, PAYLOAD)
SIGMAS = {
    "lower: thrust": 20.0, "lower: Isp": 20.0, "drag": -20.0 / np.sqrt(3.0), "payload": -2.0,
}  # fmt: skip
"""Kilograms of propellant left for a standard deviation."""


_ISPS = {"vacuum Isp": 310.0, "sea-level Isp": 265.0}


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


@pytest.fixture(autouse=True)
def _straight(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "DispersedFlight", LinearFlight)
    monkeypatch.setattr(dispersed_flights, "DispersedFlight", LinearFlight)


@pytest.fixture(scope="module")
def found(ascent: ao.Ascent) -> Iterator[ao.DispersedFlights]:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(module, "DispersedFlight", LinearFlight)
        yield ao.disperse(ascent, SCATTER, count=2000, seed=3)


def test_what_is_left_scatters_as_the_line_says(found: ao.DispersedFlights) -> None:
    sigma = np.sqrt(sum(one**2 for one in SIGMAS.values()))
    assert found.nominal_margin == NOMINAL
    assert found.margins.mean() == pytest.approx(NOMINAL, abs=3.0 * sigma / np.sqrt(2000))
    assert found.margins.std() == pytest.approx(sigma, rel=0.05)
    assert found.short == np.sum(found.margins < 0.0) > 0


def test_the_regression_finds_the_line_and_ranks_its_weights(found: ao.DispersedFlights) -> None:
    rows = found.importance()
    assert rows.explained == pytest.approx(1.0, abs=1e-9)
    whole = sum(one**2 for one in SIGMAS.values())
    for name, kilograms in SIGMAS.items():
        assert rows[name].regression == pytest.approx(kilograms, rel=0.05)
        assert rows[name].variance == pytest.approx(kilograms**2 / whole, abs=0.03)
        assert rows[name].rank == pytest.approx(kilograms / np.sqrt(whole), abs=0.06)
    assert [row.name for row in rows.rows][-1] == "payload"


def test_the_reserve_is_the_flight_by_its_order(found: ao.DispersedFlights) -> None:
    one = found.reserve(0.9973, 0.9)
    # 2000 draws show 0.9973 at 90 % with two failures: the third lowest bounds it.
    assert one.failures == 2
    assert NOMINAL - one.mass == np.sort(found.margins)[2]
    assert one.spare == NOMINAL - one.mass
    with pytest.raises(InputError, match="takes 3411 at least"):
        found.reserve(0.999325, 0.9)


def test_reserves_keep_what_they_promise(ascent: ao.Ascent) -> None:
    """In nine of ten studies or more the reserve is enough for the share, as the line tells it."""
    from scipy.stats import norm

    alone = (THRUST,)
    enough = []
    for seed in range(60):
        one = ao.disperse(ascent, alone, count=230, seed=seed).reserve(0.99, 0.9)
        enough.append(norm.cdf(one.mass / 20.0) >= 0.99)
    # With 60 studies fewer than 47 come of a chance below 1 in 1000 where nine in ten are enough.
    assert sum(enough) >= 47


def test_the_first_flights_of_a_longer_run_are_the_same(
    found: ao.DispersedFlights, ascent: ao.Ascent
) -> None:
    short = ao.disperse(ascent, SCATTER, count=30, seed=3)
    assert np.array_equal(short.inputs, found.inputs[:30])
    assert np.array_equal(short.margins, found.margins[:30])
    longer = ao.continue_dispersion(short, count=250)
    assert longer == ao.disperse(ascent, SCATTER, count=250, seed=3)


def test_an_executor_changes_nothing(ascent: ao.Ascent) -> None:
    with ThreadPoolExecutor(2) as pool:
        side_by_side = ao.disperse(ascent, SCATTER, count=950, seed=3, executor=pool)
    assert side_by_side == ao.disperse(ascent, SCATTER, count=950, seed=3)


def test_a_correlation_is_in_what_the_partials_say(ascent: ao.Ascent) -> None:
    apart = ao.disperse(ascent, (THRUST, ISP), count=5)
    together = ao.disperse(
        ascent, (THRUST, ISP), correlations=[ao.Correlation(THRUST, ISP, 0.5)], count=5
    )
    left = {name: ascent.partials[f"lower: {name}"].margin for name in ("thrust", *_ISPS)}
    one = left["thrust"]
    other = sum(0.004 * isp * left[name] for name, isp in _ISPS.items())
    assert apart.first_order.sigma == pytest.approx(np.hypot(one, other))
    assert together.first_order.sigma == pytest.approx(
        np.sqrt(one**2 + other**2 + 2 * 0.5 * one * other)
    )


def test_stopped_it_keeps_what_is_finished_and_goes_on(ascent: ao.Ascent) -> None:
    def enough(step: ao.Step[ao.DispersedFlights]) -> None:
        if step.done == 2:
            raise KeyboardInterrupt

    with pytest.raises(ao.Interrupted, match="`best` is the flights so far") as stopped:
        ao.disperse(ascent, SCATTER, count=450, seed=3, progress=enough)
    kept = stopped.value.best
    assert isinstance(kept, ao.DispersedFlights)
    assert (len(kept), kept.count) == (100, 450)
    assert "of 450 asked for" in str(kept)
    assert ao.continue_dispersion(kept) == ao.disperse(ascent, SCATTER, count=450, seed=3)


def test_without_time_nothing_is_flown(ascent: ao.Ascent) -> None:
    with pytest.raises(OutOfTime) as stopped:
        ao.disperse(ascent, SCATTER, count=450, time_limit=1e-9)
    assert stopped.value.best is None


def test_saved_it_is_loaded_equal(found: ao.DispersedFlights, tmp_path: Path) -> None:
    found.save(tmp_path / "flights.json")
    again = ao.DispersedFlights.load(tmp_path / "flights.json")
    assert again == found
    assert str(again) == str(found)
    assert again.verify()


def test_verify_finds_what_was_changed(found: ao.DispersedFlights) -> None:
    off = replace(found, outcomes=outcomes(found.margins + 1.0))
    assert len(off.verify().disagreements) == 8
    other = replace(found, seed=4)
    assert not other.verify()
    assert "is not what the seed draws" in str(other.verify())


def test_a_fall_counts_as_worse_than_anything(found: ao.DispersedFlights) -> None:
    margins = found.margins.copy()
    margins[[5, 9]] = np.nan
    two = replace(found, outcomes=outcomes(margins))
    assert NOMINAL - two.reserve().mass == pytest.approx(np.nanmin(margins))
    margins[11] = np.nan
    with pytest.raises(InputError, match="3 of 2000 flights fell"):
        replace(found, outcomes=outcomes(margins)).reserve()


def test_limits_on_loads_are_counted(found: ao.DispersedFlights) -> None:
    row = found.loads(0.99, 0.9)["q_alpha"]
    assert row.within == 2000
    assert row.shown == pytest.approx(0.1 ** (1 / 2000))
    assert row.greatest == 1e3 + found.margins.max()
    assert np.isnan(found.loads()["dynamic_pressure"].shown)


_REFUSED: dict[str, tuple[Any, dict[str, Any], str]] = {
    "nothing": ((), {}, "dispersions is empty"),
    "twice": ((THRUST, THRUST), {}, "hold 'lower: thrust' 2 times"),
    "no such stage": (
        (ao.ThrustDispersion("lover", ao.Normal(0.01)),), {}, "Did you mean 'lower'"
    ),
    "no flights": (SCATTER, {"count": 0}, "count is 0"),
    "seed": (SCATTER, {"seed": -1}, "seed is -1"),
    "correlation of what does not scatter": (
        (THRUST,), {"correlations": [ao.Correlation(THRUST, ISP, 0.5)]}, "name 'lower: Isp'"
    ),
    "no matrix": (
        (THRUST, ISP, DRAG),
        {
            "correlations": [
                ao.Correlation(THRUST, ISP, 0.9), ao.Correlation(ISP, DRAG, 0.9),
                ao.Correlation(THRUST, DRAG, -0.9),
            ]
        },
        "'lower: thrust', 'lower: Isp', 'drag' make a matrix whose least eigenvalue",
    ),
    "too light a payload": (
        (ao.PayloadDispersion(ao.Normal(500.0)),), {}, "at most the payload of 800 kg"
    ),
    "first stage late": (
        (ao.IgnitionDispersion("lower", ao.Uniform(0.5)),), {}, "a stage above the first"
    ),
    "last stage dropped": (
        (ao.SeparationDispersion("upper", ao.Uniform(0.5)),), {}, "dropped on the way"
    ),
    "no normal force": (
        (ao.NormalForceDispersion(ao.Normal(0.05)),), {}, "normal_force_slope is 0.0"
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", _REFUSED)
def test_what_cannot_be_flown_is_refused(ascent: ao.Ascent, case: str) -> None:
    scatter, more, words = _REFUSED[case]
    with pytest.raises(InputError, match=words):
        ao.disperse(ascent, scatter, **more)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (partial(ao.ThrustDispersion, "lower", ao.Normal(1.0)), "per cent: write 0.01"),
        (partial(ao.IspDispersion, "lower", ao.Normal(0.3)), "per cent: write 0.003"),
        (partial(ao.DragDispersion, ao.Normal(0.2)), "TruncatedNormal"),
        (partial(ao.AlignmentDispersion, ao.Normal(0.5)), "degrees: write 0.5"),
        (partial(ao.IgnitionDispersion, "upper", ao.Uniform(500.0)), "milliseconds"),
        (partial(ao.Correlation, THRUST, ISP, 1.0), "coefficient is 1.0"),
        (partial(ao.Correlation, THRUST, THRUST, 0.5), "must differ"),
    ],
)
def test_slips_are_refused(make: partial[object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        make()


def test_wide_scatter_is_warned_of() -> None:
    with pytest.warns(ao.UnusualInputWarning, match="the standard deviation is 0.1"):
        ao.ThrustDispersion("lower", ao.Normal(0.1))
