"""A programme for the days: what it gains on days that it was not tuned on."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.errors import InputError
from tests.optimal.launchers import lander, moon_mission
from tests.studies.wren import MISSION, VEHICLE

SCATTER = (
    ao.ThrustDispersion("lower", ao.Normal(0.01)),
    ao.DragDispersion(ao.Normal(0.05)),
)
DRAWS = ao.TuningDraws(tuned=12, fresh=40, seed=3)


@cache
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


@cache
def found() -> ao.RobustProgramme:
    worst = ao.Quantile(0.9)
    return ao.robust_programme(ascent(), SCATTER, knots=1, against=worst, draws=DRAWS)


@pytest.mark.slow
def test_it_leaves_more_on_bad_days_and_less_on_the_nominal_one() -> None:
    one = found()
    assert one.gain > 3.0 * one.error > 0.0
    assert one.gain == np.quantile(-one.before, 0.9) - np.quantile(-one.after, 0.9)
    assert one.nominal_after < one.nominal_before


def test_fresh_days_are_those_behind_the_tuned_ones() -> None:
    flights = ao.disperse(ascent(), SCATTER, count=52, seed=3)
    assert found().before == pytest.approx(flights.margins[12:], abs=1e-6)


def test_it_is_told_kept_and_flown_again(tmp_path: Path) -> None:
    one = found()
    one.save(tmp_path / "programme.json")
    again = ao.RobustProgramme.load(tmp_path / "programme.json")
    assert again == one
    assert again.verify()
    assert "on 40 fresh flights" in str(again)
    table = one.to_table()
    shift = np.array(table["shift"], dtype=float)
    assert shift[0] == 0.0
    assert np.abs(shift).max() == pytest.approx(np.abs(one.shifts).max(), rel=0.05)


def test_a_shift_of_nothing_is_the_optimums_programme() -> None:
    from ascentopt.guided.dispersed_flight import DispersedFlight
    from ascentopt.studies.robust.shift import PitchShift

    flight = DispersedFlight.of(ascent())
    same = PitchShift((20.0, 200.0), (0.0, 0.0)).flown_by(flight, ascent().steering)
    margins = [one.fly(one.nominal).margin[0] for one in (flight, same)]
    assert margins[0] == pytest.approx(margins[1], abs=1e-6)


def test_what_steers_nothing_by_a_table_is_refused() -> None:
    best = ao.optimize(lander(), moon_mission())
    scatter = [ao.ThrustDispersion(best.vehicle.stages[0].name, ao.Normal(0.01))]
    with pytest.raises(InputError, match="for a table to steer"):
        ao.robust_programme(best, scatter, draws=DRAWS)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: ao.Quantile(95.0), "share is 95.0"),
        (lambda: ao.TuningDraws(tuned=1), "tuned is 1"),
        (lambda: ao.robust_programme(ascent(), SCATTER, knots=0), "knots is 0"),
        (lambda: ao.robust_programme(ascent(), ()), "dispersions is empty"),
    ],
)
def test_slips_are_refused(call: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()  # type: ignore[operator]


def test_out_of_time_there_is_no_programme() -> None:
    with pytest.raises(ao.OutOfTime) as stopped:
        ao.robust_programme(ascent(), SCATTER, draws=DRAWS, time_limit=1e-9)
    assert stopped.value.best is None


def test_stopped_it_gives_the_best_so_far() -> None:
    def enough(step: ao.Step[ao.RobustProgramme]) -> None:
        if step.done == 3:
            raise KeyboardInterrupt

    with pytest.raises(ao.Interrupted) as stopped:
        ao.robust_programme(ascent(), SCATTER, knots=1, draws=DRAWS, progress=enough)
    best = stopped.value.best
    assert isinstance(best, ao.RobustProgramme)
    assert len(best.after) == len(best.before) == 0
    assert np.isnan(best.gain)
    assert "stopped before it was judged" in str(best)
    assert best.verify()


def test_stopped_while_it_is_judged_it_says_by_how_many() -> None:
    def judged(step: ao.Step[ao.RobustProgramme]) -> None:
        if step.doing.startswith("50 fresh flights"):
            raise KeyboardInterrupt

    draws = ao.TuningDraws(tuned=4, fresh=80)
    with pytest.raises(ao.Interrupted) as stopped:
        ao.robust_programme(ascent(), SCATTER, knots=1, draws=draws, progress=judged)
    best = stopped.value.best
    assert isinstance(best, ao.RobustProgramme)
    assert len(best.after) == 50
    assert "on 50 fresh flights" in str(best)


def test_what_holds_a_programme_is_told() -> None:
    one = replace(found(), held=("dynamic_pressure",))
    assert "held by dynamic pressure" in str(one)
