"""Tuning finds numbers that no neighbour beats."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.evaluate.terminal_solve import InsertionNotSolved
from ascentopt.rules.laws.kick import KickRule
from ascentopt.rules.laws.pitch_rate import PitchRateRule
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.rules.tune.merit import cost_of, load_ratio
from ascentopt.rules.tune.tuning import led, tune
from ascentopt.scenarios import scenarios
from ascentopt.units import deg, kN, kPa
from tests.rules.cases import INCLINED, SMALL_PLANET, SOLID, TURNED, Case

# On the model's valleys a change of this size matters; ten times less does not.
STEP = 0.05


@pytest.mark.parametrize("case", [SMALL_PLANET[3], SMALL_PLANET[2], SMALL_PLANET[4]], ids=str)
def test_it_beats_the_habit_and_its_neighbours(case: Case) -> None:
    flight = case.flight
    best = tune(flight).best
    assert best is not None
    least = cost_of(flight, best)
    others = [flight.habit()] + [
        tuple(v * factor if k == place else v for k, v in enumerate(best.values))
        for place in range(len(best.values))
        for factor in (1.0 - STEP, 1.0 + STEP)
    ]
    # Two kilograms in ten tonnes are what a flat valley may hide.
    assert all(cost(flight, values) > least - 2e-4 * least for values in others)
    assert max(cost(flight, values) for values in others[1:]) > least


def test_a_flight_whose_insertion_is_not_guessed_is_led_to() -> None:
    (flight,) = SMALL_PLANET[3].flight.usual
    steep = flight.fly((50.0, 3.5 * deg))
    flat = (50.0, 4.6 * deg)
    with pytest.raises(InsertionNotSolved):
        flight.fly(flat)
    found = led(flight, flat, steep)
    assert found.values == flat
    assert abs(np.linalg.norm(found.end.state[:3]) - flight.radius) < 0.5
    again = ao.fly(flight.vehicle, flight.mission, found.law)
    assert np.linalg.norm(again.final_state[:3] - found.end.state[:3]) < 1.0


def cost(flight: RuleFlight, values: tuple[float, ...]) -> float:
    try:
        return cost_of(flight, flight.fly(values))
    except CompiledFlightError:
        return inf


def test_where_nothing_fits_it_says_what_lies_on_either_side() -> None:
    case = SMALL_PLANET[0]
    upper = case.vehicle.stages[1]
    weak = replace(upper, engine=ao.Engine(vacuum_thrust=6 * kN, vacuum_isp=345.0))
    vehicle = replace(case.vehicle, stages=(case.vehicle.stages[0], weak))
    found = tune(replace(case.flight, vehicle=vehicle))
    assert found.best is None
    assert "too steep: " in found.why
    assert "; a little more: " in found.why


@dataclass(frozen=True, kw_only=True)
class Late(KickRule):
    """By habit so late that none of its angles leads into the orbit."""

    @property
    def open(self) -> tuple[ao.Open, ...]:
        """No kick beyond 40 degrees."""
        speed, angle = super().open
        return speed, replace(angle, high=40 * deg)

    def nominal(self, pad: Pad) -> tuple[float, ...]:
        """At 300 m/s."""
        return 300.0, 3 * deg

    def habitual(self, pad: Pad) -> tuple[float, ...]:
        """The same."""
        return self.nominal(pad)


def test_where_the_habit_leads_nowhere_other_numbers_are_tried() -> None:
    """The last stage inserts after no kick so late; a lower one, cut off early, costs a tonne."""
    case = SMALL_PLANET[0]
    late = replace(case.flight, rule=Late())
    for angle in (1 * deg, 5 * deg, 20 * deg, 40 * deg):
        with pytest.raises(CompiledFlightError):
            late.usual[0].fly((300.0, angle))
    best, usual = tune(late).best, tune(case.flight).best
    assert best is not None
    assert usual is not None
    assert best.propellant_used == pytest.approx(usual.propellant_used, rel=1e-3)


def is_closed(case: Case, state: Array) -> bool:
    """Whether a flight ends in the orbit as exactly as the chosen one should."""
    flight, inclination = case.flight, case.mission.orbit.inclination
    momentum = np.cross(state[:3], state[3:6])
    tilt = np.arccos(momentum[2] / np.linalg.norm(momentum))
    return bool(
        abs(np.linalg.norm(state[:3]) - flight.radius) < 0.1
        and abs(np.linalg.norm(state[3:6]) - flight.speed) < 2e-4
        and (inclination is None or abs(tilt - inclination) < 1e-7)
    )


@pytest.mark.parametrize("case", [SMALL_PLANET[1], INCLINED[3], TURNED[0]], ids=str)
def test_what_is_chosen_is_closed_as_exactly_as_any_flight(case: Case) -> None:
    best = tune(case.flight).best
    assert best is not None
    assert is_closed(case, best.end.state)


@pytest.mark.parametrize("case", [SMALL_PLANET[1], INCLINED[3]], ids=str)
def test_one_closed_as_those_that_were_tried_would_be_seen(case: Case) -> None:
    """Fifty times less exactly: a millimetre a second, where the chosen one has hundredths."""
    best = tune(case.flight).best
    assert best is not None
    on_the_way = replace(case.flight, slack=50.0).fly(best.values)
    assert not is_closed(case, on_the_way.end.state)


def test_at_a_fold_of_the_insertion_the_best_flight_that_closes_exactly_is_chosen() -> None:
    case = SOLID[2]
    best = tune(case.flight).best
    assert best is not None
    assert np.linalg.norm(best.end.state[:3]) == pytest.approx(case.flight.radius, abs=0.1)


def test_a_limit_that_cannot_be_kept_is_broken_rather_than_the_orbit_missed() -> None:
    """Steep enough for 25 kPa, this vehicle lacked 6.7 t; by habit it flies, beyond the limit."""
    slow = scenarios()["earth-large-slow"]
    limits = replace(slow.mission.limits, dynamic_pressure=25 * kPa)
    first, second = slow.vehicle.stages
    assert isinstance(first.engine, ao.Engine)
    stiff = replace(first, engine=replace(first.engine, min_throttle=1.0))
    flight = RuleFlight(
        vehicle=replace(slow.vehicle, stages=(stiff, second)),
        mission=replace(slow.mission, limits=limits),
        rule=KickRule(),
        insertion=ao.LinearTangentInsertion(),
    )
    best = tune(flight).best
    assert best is not None
    assert best.debt == 0.0
    assert 1.0 < load_ratio(flight, best) < 1.2


def scenario(name: str, rule: Rule) -> RuleFlight:
    one = scenarios()[name]
    return RuleFlight(
        vehicle=one.vehicle, mission=one.mission, rule=rule, insertion=ao.Circularise()
    )


def test_a_flight_whose_apoapsis_never_reaches_the_orbit_is_too_flat() -> None:
    """Taken for too steep, it had the wrong gap halved: 12169 kg at another start speed."""
    best = tune(scenario("earth-small", PitchRateRule())).best
    assert best is not None
    assert best.propellant_used < 12125.0


def test_tuning_goes_on_where_the_cut_off_passes_the_periapsis() -> None:
    """A coast to the nearest apoapsis ends at once there: 11118 kg."""
    best = tune(scenario("mars-one-stage", PitchRateRule())).best
    assert best is not None
    assert best.propellant_used < 11100.0


def test_a_flight_beyond_an_edge_tells_how_far_beyond() -> None:
    """This motor is so strong that the apoapsis passes the orbit before the stage above is lit."""
    flight = replace(scenario("earth-solid-first", KickRule()), slack=20.0)
    inside = flight.fly_beyond_edges((36.0, 0.45))
    assert inside.refusal is None
    beyond = [flight.fly_beyond_edges((25.5, kick), inside) for kick in (0.447, 0.444)]
    assert [room.left < 0.0 for room in beyond[0].margins] == [True, False, False, False]
    left = [one.margins[0].left for one in (inside, *beyond)]
    # Kilometres of apoapsis: 470 for each radian of the kick, on either side of the edge.
    assert np.diff(left) == pytest.approx([-1.42, -1.38], abs=0.1)
    # A flight that chooses cuts that stage off with the fairing on, which goes on the coast.
    assert inside.law.plan.fairing_arc == "second"
    assert flight.fly((36.0, 0.447), inside).law.plan.fairing_arc == "coast 1"


def test_a_coast_does_not_graze_the_ground() -> None:
    """Cut off before a periapsis 1 m below the ground of the Moon, it was no flight for `fly`."""
    flight = scenario("moon-brisk", PitchRateRule())
    best = tune(flight).best
    assert best is not None
    assert best.propellant_used < 3410.0
    track = ao.fly(flight.vehicle, flight.mission, best.law).trajectory
    coast = next(arc for arc in track.arcs if arc.name == "coast 1")
    assert min(track.altitude[track.time >= coast.times[0]]) > 500.0  # of 1 km; J2
