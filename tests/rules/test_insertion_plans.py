"""By which plan a flight is brought into the orbit: whichever stage burns as the apoapsis is there.

Flights are closed by the compiled flight and flown again by the independent one.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.tune.tuning import tune
from ascentopt.units import deg, km, kN
from ascentopt.world.orbital_elements import elements
from tests.rules.pebble import DUNLIN, MISSION, relit, strong_lower, weak_upper

HABIT = (50.0, 5 * deg)
LATER = (55.0, 13 * deg)  # with which the first stage all but burns out


def flight(vehicle: ao.Vehicle, insertion: Insertion | None = None) -> RuleFlight:
    way = ao.Circularise() if insertion is None else insertion
    rule = ao.KickRule(habit=HABIT)
    return RuleFlight(vehicle=vehicle, mission=MISSION, rule=rule, insertion=way)


def flown(one: RuleFlight, closed: ClosedRuleFlight) -> ao.Flight:
    """By the independent simulator, which must end in the orbit, too."""
    found = ao.fly(one.vehicle, one.mission, closed.law)
    assert found.verdict is not None
    assert found.verdict.as_asked
    assert np.linalg.norm(found.final_state[:3] - closed.end.state[:3]) < 5.0
    return found


def names(found: ao.Flight) -> list[str]:
    """Events after the pitch-over, but for the peak of the pressure."""
    return [row.name for row in found.events if row.name != "max dynamic pressure"][2:]


def test_the_usual_plan_does_not_fly_it() -> None:
    with pytest.raises(CompiledFlightError, match="beyond the orbit before 'upper' can be cut off"):
        flight(relit(0, 1)).usual[0].fly(HABIT)


@pytest.mark.parametrize("restarts", [(0, 0), (0, 1)], ids=str)
def test_the_first_stage_is_cut_off_and_dropped_and_the_next_is_lit_at_the_apoapsis(
    restarts: tuple[int, int],
) -> None:
    one = flight(relit(*restarts))
    closed = one.fly(one.habit())
    found = flown(one, closed)
    assert names(found) == ["lower separation", "upper ignition", "insertion"]
    cut, lit = found.events["lower separation"], found.events["upper ignition"]
    assert cut.mass_before > 3350.0 + 1300.0 + 500.0  # much of its propellant is dropped with it
    assert lit.altitude > cut.altitude + 20 * km
    assert lit.time - cut.time > 20.0
    assert closed.debt == 0.0


def test_what_is_dropped_counts_as_used() -> None:
    one = flight(relit(0, 0))
    closed = one.fly(one.habit())
    left = closed.end.mass - 900.0 - 450.0
    assert closed.propellant_used == pytest.approx(9500.0 - left)


def test_a_first_stage_that_can_is_lit_again_and_the_next_one_follows_it() -> None:
    one = flight(relit(1, 0))
    closed = one.fly(LATER)
    found = flown(one, closed)
    assert names(found) == [
        "lower cut-off", "lower ignition", "lower separation", "insertion",
    ]  # fmt: skip
    assert found.events["lower separation"].mass_before == pytest.approx(3350.0 + 1300.0)
    dropped = flight(relit(0, 0)).fly(LATER)
    assert closed.propellant_used < dropped.propellant_used - 20.0


def test_a_first_stage_that_has_enough_left_takes_the_upper_one_along_unlit() -> None:
    one = flight(strong_lower())
    closed = one.fly((55.0, 17 * deg))
    found = flown(one, closed)
    assert names(found) == ["lower cut-off", "lower ignition", "insertion"]
    assert closed.law.plan.unlit == 1
    assert closed.propellant_used == pytest.approx(one.vehicle.lift_off_mass - closed.end.mass)


def test_a_weak_stage_burns_long_around_the_apoapsis() -> None:
    one = flight(weak_upper())
    values = (55.0, 11 * deg)
    with pytest.raises(CompiledFlightError, match="no time to coast"):
        one.usual[0].fly(values)
    closed = one.fly(values)
    found = flown(one, closed)
    assert names(found) == ["lower separation", "insertion"]
    burn = found.events["insertion"].time - found.events["lower separation"].time
    assert burn > 200.0
    assert "without a coast" in closed.insertion.remark(one.vehicle)


def test_a_linear_tangent_coasts_from_where_the_first_stage_is_cut_off() -> None:
    one = flight(DUNLIN, ao.LinearTangentInsertion())
    closed = one.fly(HABIT)
    found = flown(one, closed)
    assert names(found) == ["lower separation", "upper ignition", "insertion"]
    lit, end = found.events["upper ignition"].time, found.events["insertion"].time
    middle = found.trajectory.at(0.5 * (lit + end))
    assert abs(float(middle.pitch)) < 0.01 * deg
    assert "dropped, 'upper' lit there" in closed.insertion.remark(one.vehicle)


@pytest.mark.slow
@pytest.mark.parametrize("restarts", [(0, 1), (1, 0)], ids=str)
def test_its_coast_costs_no_more_than_a_level_burn_after_one(restarts: tuple[int, int]) -> None:
    best = [
        tune(flight(relit(*restarts), way)).best
        for way in (ao.Circularise(), ao.LinearTangentInsertion())
    ]
    level, tangent = (one.propellant_used for one in best if one is not None)
    assert tangent < 1.005 * level


def test_a_flight_by_a_lower_stage_owes_what_its_own_tank_lacks() -> None:
    one = flight(strong_lower())
    closed = one.fly((55.0, 17 * deg))
    assert closed.law.plan.unlit == 1
    way = next(way for way in one.ways if way.flew(closed))
    upper = one.vehicle.stages[1].propellant_mass
    everything = one.vehicle.propellant_mass - closed.propellant_used
    assert way.propellant_margin(closed) == pytest.approx(everything - upper)


def test_a_neighbour_begins_with_the_plan_of_its_neighbour() -> None:
    one = flight(relit(0, 1))
    near = one.fly(HABIT)
    beside = one.fly((50.0, 5.2 * deg), near)
    alone = one.fly((50.0, 5.2 * deg))
    assert beside.insertion == alone.insertion == near.insertion
    assert beside.propellant_used == pytest.approx(alone.propellant_used, abs=0.01)


def test_no_stage_burns_more_than_it_has() -> None:
    """Beyond the edge at which the first stage burns out too early the flight is told as flat."""
    (one,) = flight(relit(0, 0)).usual
    edge = one.fly_beyond_edges((55.0, 14 * deg), one.fly(LATER))
    assert "'lower' burns out before" in str(edge.refusal)
    with pytest.raises(CompiledFlightError, match="'lower' burns out before"):
        one.fly((55.0, 14 * deg), one.fly(LATER))


def test_tuned_it_drops_next_to_nothing() -> None:
    one = flight(relit(0, 0))
    best = tune(one).best
    assert best is not None
    cut = flown(one, best).events["lower separation"]
    assert cut.mass_before < 3350.0 + 1300.0 + 10.0
    assert best.propellant_used < one.fly(HABIT).propellant_used - 900.0


@pytest.mark.parametrize("moved", [-1.0, 1.0])
def test_rounding_decides_nothing(moved: float) -> None:
    best = tune(flight(relit(0, 1))).best
    heavier = replace(relit(0, 1), payload_mass=900.0 * (1.0 + 1e-10 * moved))
    again = tune(flight(heavier)).best
    assert best is not None
    assert again is not None
    assert again.propellant_used == pytest.approx(best.propellant_used, rel=1e-4)


ELLIPSE = ao.EllipticalOrbit(
    periapsis_altitude=85 * km, apoapsis_altitude=300 * km, inclination=20 * deg
)


@pytest.fixture
def to_ellipse() -> RuleFlight:
    return replace(flight(relit(0, 1)), mission=replace(MISSION, orbit=ELLIPSE))


def test_an_ellipse_is_entered_at_its_periapsis(to_ellipse: RuleFlight) -> None:
    found = flown(to_ellipse, to_ellipse.fly(HABIT))
    assert found.verdict is not None
    assert found.verdict.periapsis == pytest.approx(85 * km, abs=5.0)
    assert found.verdict.apoapsis == pytest.approx(300 * km, abs=50.0)
    assert found.verdict.inclination == pytest.approx(20 * deg, abs=1e-6)
    assert found.events["insertion"].altitude == pytest.approx(85 * km, abs=50.0)


def test_or_at_its_apoapsis(to_ellipse: RuleFlight) -> None:
    high = [way for way in to_ellipse.ways if way.radius > 900 * km]
    (way,) = [way for way in high if way.starts_in == 0 and way.insertion.mends(None)]
    found = flown(way, way.fly((50.0, 2 * deg)))
    assert found.events["insertion"].altitude == pytest.approx(300 * km, abs=100.0)


def throttling(least: float = 0.1) -> ao.Vehicle:
    """With an upper stage that has thrust to spare."""
    lower, upper = DUNLIN.stages
    engine = ao.Engine(vacuum_thrust=100 * kN, vacuum_isp=340.0, min_throttle=least)
    return replace(DUNLIN, stages=(lower, replace(upper, engine=engine)))


@pytest.mark.parametrize("angle", [6 * deg, 7 * deg, 8 * deg])
def test_a_throttle_holds_the_apoapsis_ahead(angle: float) -> None:
    one = flight(throttling(), ao.HoldApoapsis())
    closed = one.fly((55.0, angle))
    last = flown(one, closed).trajectory.arcs[-1]
    mu, nearly_round = MISSION.body.gravitational_parameter, closed.unknowns[1]
    orbits = [elements(mu, state[:3], state[3:6]) for state in last.states]
    left = [orbit.time_to_apoapsis for orbit in orbits if orbit.eccentricity > nearly_round]
    assert orbits[0].eccentricity > 2.0 * nearly_round
    assert max(abs(seconds / left[0] - 1.0) for seconds in left) < 0.2
    shares = last.throttle[1:]
    assert min(shares) == pytest.approx(0.1, abs=1e-9)
    assert max(shares) < 0.95
    full = flight(throttling()).fly((55.0, angle))
    assert full.propellant_used < closed.propellant_used < full.propellant_used + 100.0


def test_an_engine_that_throttles_too_little_cannot_hold_it() -> None:
    one = flight(throttling(least=0.4), ao.HoldApoapsis())
    with pytest.raises(CompiledFlightError, match="'upper' cannot throttle down so far"):
        one.fly((55.0, 6 * deg))


def test_held_it_ends_in_circles_and_throttles() -> None:
    hold = ao.HoldApoapsis()
    assert not hold.lacks(throttling(), MISSION)
    assert "cannot be throttled" in hold.lacks(DUNLIN, MISSION)
    assert "in an ellipse" in hold.lacks(throttling(), replace(MISSION, orbit=ELLIPSE))


def test_what_the_vehicle_lacks_is_said() -> None:
    one = flight(DUNLIN, ao.HoldApoapsis())
    assert one.ways == ()
    with pytest.raises(CompiledFlightError, match="cannot be throttled for it"):
        one.fly(HABIT)


def test_between_flights_that_cut_off_one_stage_and_the_next_there_is_no_gap() -> None:
    """Where the apoapsis passes the orbit before the fairing may go, or by what air takes of it."""
    launch = ao.scenarios()["earth-small"]
    chosen = RuleFlight(
        vehicle=launch.vehicle,
        mission=launch.mission,
        rule=ao.KickRule(),
        insertion=ao.Circularise(),
    )
    speeds = (70.0, 72.0, 74.0, 75.0, 76.0, 78.0)
    flown = [chosen.fly((speed, 8.0 * deg)) for speed in speeds]
    assert np.all(np.diff([one.propellant_used for one in flown]) > 0.0)
    ends = [(one.law.plan.fairing_arc, one.law.plan.cut_early) for one in flown]
    assert ends[0] == ("second", ())
    assert ends[1] == ends[2] == ("coast 1", ())
    assert all(early == (0,) for _, early in ends[3:])
