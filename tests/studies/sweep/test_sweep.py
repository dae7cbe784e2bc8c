"""Sweeps of a real vehicle: each point is what `optimize` finds, refusals are rows."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from pickle import dumps
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.perturbations import Case
from ascentopt.studies.sweep.point_solve import PointTask, solve_point
from ascentopt.studies.sweep.schedule import Solve
from ascentopt.units import km
from tests.optimal.launchers import lander, moon_mission
from tests.studies.sweep.sweeping import SMALL, largest_difference, small, swept


def test_each_point_is_what_optimize_finds_there() -> None:
    for point in small().flying:
        mass, altitude = (small().column(name)[point] for name in SMALL)
        orbit = ao.CircularOrbit(altitude=altitude)
        alone = ao.optimize(
            replace(lander(), payload_mass=mass), replace(moon_mission(), orbit=orbit)
        )
        answer = small().answers[point]
        assert answer is not None
        assert answer.propellant_used == pytest.approx(alone.propellant_used, rel=1e-6)
        assert answer.plan == str(alone.plan)
        assert answer.verdict == "certified"


def test_one_is_solved_from_nothing_and_the_others_from_their_neighbours() -> None:
    near = [one.near for one in small().answers if one is not None]
    assert near.count(()) == 1
    assert small().solves == (1,) * 6


def test_a_refusal_is_a_row_with_its_shortfall() -> None:
    table = small().to_table()
    assert table["outcome"] == ("flies",) * 4 + ("refused",) * 2
    with pytest.raises(ao.InfeasibleAscent) as told:
        ao.optimize(replace(lander(), payload_mass=6000.0), moon_mission())
    assert table["shortfall"][4] == pytest.approx(told.value.shortfall, abs=0.1)
    assert "short by" in str(table["reason"][4])
    assert table["payload_that_flies"][4] == pytest.approx(told.value.diagnosis.payload, rel=1e-3)
    assert table["propellant_used"][4] is None


def test_wrong_input_is_a_row_too() -> None:
    found = swept({"payload_mass": [1000.0, 60000.0], "orbit.altitude": [100 * km]})
    assert found.to_table()["outcome"] == ("flies", "wrong input")
    assert "thrust at lift-off" in str(found.to_table()["reason"][1])


def test_columns_are_called_after_what_is_varied_and_have_its_unit() -> None:
    assert small().to_table().headers[:2] == ("payload_mass [kg]", "orbit.altitude [m]")
    assert small().to_table()["orbit.altitude"][:2] == (100 * km, 110 * km)


def test_partials_are_columns_if_asked_for() -> None:
    table = small().table_with_partials(["payload", "orbit altitude"])
    assert table.headers[-2:] == (
        "margin per payload [kg per kg]",
        "margin per orbit altitude [kg per km]",
    )
    assert table["margin per payload"][0] == small().ascent(0).partials["payload"].margin
    assert table["margin per payload"][4] is None
    with pytest.raises(ao.InputError, match="Did you mean 'payload'"):
        small().table_with_partials(["paylod"])


def test_partials_foretell_the_neighbour() -> None:
    """What the promise of a structure is reckoned by."""
    left = small().column("propellant_margin")
    slope = [small().ascent(k).partials["payload"].margin for k in (0, 2)]
    assert left[2] - left[0] == pytest.approx(100.0 * np.mean(slope), abs=0.01)


def test_ascents_are_kept_by_number_and_by_values() -> None:
    found = small().ascent({"payload_mass": 900, "orbit.altitude": 110 * km})
    assert found is small().ascent(1)
    assert found.vehicle.payload_mass == pytest.approx(900.0)
    assert small().verify()
    with pytest.raises(ao.InputError, match=r"must be one that flies.*short by"):
        small().ascent(4)
    with pytest.raises(ao.InputError, match=r"it must hold a value of the sweep"):
        small().ascent({"payload_mass": 950.0, "orbit.altitude": 110 * km})
    with pytest.raises(ao.InputError, match="point is 6"):
        small().ascent(6)


def test_a_row_that_is_not_its_ascents_is_found_out() -> None:
    first = small().answers[0]
    assert first is not None
    forged = replace(first, propellant_used=(first.propellant_used or 0.0) - 1.0)
    told = replace(small(), answers=(forged, *small().answers[1:])).verify()
    assert [one.quantity for one in told.disagreements] == ["point 0: propellant used"]


def test_it_is_saved_and_loaded(tmp_path: Path) -> None:
    small().save(tmp_path / "sweep.json")
    loaded = ao.Sweep.load(tmp_path / "sweep.json")
    assert loaded == small()
    assert loaded.ascent(0) == small().ascent(0)


def test_what_is_told_of_it() -> None:
    words = str(small())
    assert "6 points, 4 fly, 2 refused" in words
    assert "most left: " in words
    assert "with payload_mass 900 kg, orbit.altitude 100 km" in words
    assert repr(small()) == (
        "Sweep(Sanderling over payload mass, kg and orbit: altitude, km, 3 x 2 points, 4 fly)"
    )


def test_a_list_of_points_is_the_same_as_the_grid() -> None:
    names = list(SMALL)
    found = swept([dict(zip(names, one, strict=True)) for one in small().values])
    assert found.shape == ()
    assert largest_difference(found, small()) == 0.0


def test_wholes_and_functions_are_varied() -> None:
    def lighter(vehicle: ao.Vehicle, mission: ao.Mission, by: float) -> Any:
        return replace(vehicle, payload_mass=vehicle.payload_mass - by), mission

    orbits = [ao.CircularOrbit(altitude=x * km) for x in (100.0, 110.0)]
    found = swept({"less": ao.Varied(values=[100.0, 0.0], change=lighter, unit="kg"),
                   "orbit": orbits})  # fmt: skip
    assert found.to_table().headers[:2] == ("less [kg]", "orbit")
    left = found.column("propellant_margin")
    assert left == pytest.approx(small().column("propellant_margin")[:4], rel=1e-6)


def test_steps_are_told_and_carry_what_is_finished() -> None:
    steps: list[ao.Step[ao.Sweep]] = []
    missing: list[int] = []

    def look(step: ao.Step[ao.Sweep]) -> None:
        steps.append(step)
        so_far = step.so_far
        missing.append(6 if so_far is None else len(so_far.missing))

    swept(SMALL, progress=look)
    assert missing[0] == 6
    assert missing[-1] == 0
    assert sorted(missing, reverse=True) == missing
    assert (steps[-1].done, steps[-1].total, steps[-1].over) == (6, 6, True)


def test_time_that_is_up_carries_what_is_finished(tmp_path: Path) -> None:
    with pytest.raises(ao.OutOfTime, match="`best` is the sweep so far") as told:
        swept(SMALL, time_limit=1e-9, store=tmp_path / "store")
    best = told.value.best
    assert isinstance(best, ao.Sweep)
    assert len(best.missing) == 6
    assert swept(SMALL, store=tmp_path / "store").missing == ()


def test_a_neighbour_that_cannot_be_started_from_refuses_no_point() -> None:
    """One without its solution, as an older version saved it."""
    old = replace(small().ascent(0), solved_program=None)
    case = Case(small().ascent(1).vehicle, small().ascent(1).mission)
    found = solve_point(PointTask(Solve(1, 0, (0, 0)), case, ao.Effort(), dumps(old)))
    assert found.answer is not None
    assert found.answer.propellant_used == pytest.approx(
        small().ascent(1).propellant_used, rel=1e-6
    )
