"""Ways in which arcs end, and flights that do not end as they should."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.errors import InputError
from ascentopt.flight.guidance.ending import (
    AfterDuration,
    AtAirSpeed,
    AtAltitude,
    AtApoapsis,
    AtApoapsisRadius,
    AtEmpty,
    BelowHeating,
    Ending,
)
from ascentopt.flight.guidance.law import Command
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.failure import (
    EndingNotReached,
    FlightError,
    HitGround,
    OutOfPropellant,
)
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.simulation.simulate import fly, simulate
from ascentopt.rocket import Vehicle
from ascentopt.units import km
from ascentopt.world import earth
from ascentopt.world.orbital_elements import apoapsis_radius, elements
from tests.flight.rockets import SMALL_CORE, UPPER, Leaning, boosted, mission, plain, solid_first

PLAN = FlightPlan(inserting_stage=1)
TWO_BURNS = FlightPlan(inserting_stage=1, restarts=1)
WITH_FAIRING = FlightPlan(inserting_stage=1, fairing_arc="upper")
MU, RADIUS = earth().gravitational_parameter, earth().radius


def flown(last: Ending, vehicle: Vehicle | None = None) -> Flight:
    return fly(vehicle or plain(), mission(), Leaning(PLAN, {"upper": last}))


def ends(flight: Flight) -> dict[str, tuple[str, float]]:
    return {end.arc: (type(end.ending).__name__, end.time) for end in flight.ends}


def test_arcs_end_by_themselves_where_they_can() -> None:
    found = ends(flown(AfterDuration(50.0)))
    burn, delay = SMALL_CORE.burn_time, UPPER.ignition_delay
    assert [kind for kind, _ in found.values()] == [
        "AtAltitude", "AfterDuration", "AfterDuration", "AfterDuration",
    ]  # fmt: skip
    assert found["core"][1] == pytest.approx(burn, abs=1e-9)
    assert found["coast to upper"][1] == pytest.approx(burn + delay, abs=1e-9)
    assert found["upper"][1] == pytest.approx(burn + delay + 50.0, abs=1e-9)


def test_a_rise_ends_at_its_height() -> None:
    rise = flown(AfterDuration(1.0)).trajectory.arcs[0]
    end = rise.readings[-1, 1]  # altitude
    assert end == pytest.approx(40.0 + 100.0, abs=1e-6)


def test_boosters_keep_their_clock_whatever_the_rise_takes() -> None:
    vehicle = boosted()
    found = flown(AfterDuration(1.0), vehicle)
    solids, liquids = vehicle.boosters
    table = found.events
    assert table["solids separation"].time == pytest.approx(solids.burn_out_time, abs=1e-9)
    assert table["liquids separation"].time == pytest.approx(liquids.burn_out_time, abs=1e-9)
    drop = table["solids separation"]
    assert drop.mass_before - drop.mass_after == pytest.approx(2 * 900.0, abs=1e-9)


@pytest.mark.parametrize(
    "vehicle", [plain(), boosted(), solid_first()], ids=lambda vehicle: vehicle.name
)
def test_all_propellant_of_the_first_stage_is_burned(vehicle: Vehicle) -> None:
    first = vehicle.stages[0]
    row = flown(AfterDuration(1.0), vehicle).events[f"{first.name} separation"]
    dry = vehicle.mass_above(0) + first.dry_mass
    assert row.mass_before == pytest.approx(dry, abs=1e-6 * vehicle.lift_off_mass)
    assert row.mass_after == pytest.approx(vehicle.mass_above(0), abs=1e-9)


def test_a_throttled_burn_ends_when_it_is_empty() -> None:
    limits = replace(mission().limits, axial_acceleration=60.0)
    slow = Leaning(PLAN, {"core": AtEmpty(), "upper": AfterDuration(1.0)}, throttle=0.8)
    vehicle = boosted()
    found = fly(vehicle, replace(mission(), limits=limits), slow)
    assert found.events["core separation"].time == pytest.approx(
        vehicle.stages[0].burn_time / 0.8, rel=1e-9
    )


def test_burns_end_at_a_height_a_speed_and_when_empty() -> None:
    high = flown(AtAltitude(90 * km))
    assert high.trajectory.altitude[-1] == pytest.approx(90 * km, abs=1e-5)
    fast = flown(AtAirSpeed(4000.0))
    assert fast.trajectory.air_speed[-1] == pytest.approx(4000.0, abs=1e-6)
    assert flown(AtEmpty()).final_state[6] == pytest.approx(
        plain().mass_above(1) + UPPER.dry_mass, abs=1e-8
    )


def test_a_burn_ends_when_the_apoapsis_is_reached() -> None:
    target = RADIUS + 250 * km
    end = flown(AtApoapsisRadius(target)).final_state
    assert apoapsis_radius(MU, end[:3], end[3:6]) == pytest.approx(target, abs=1e-3)


def test_an_arc_whose_end_has_come_already_has_no_length() -> None:
    found = flown(AtAltitude(1 * km))
    assert found.trajectory.arcs[-1].times.shape == (1,)
    assert found.final_state[6] == pytest.approx(plain().mass_above(0), abs=1e-9)


@pytest.mark.parametrize("before", [0.0, 20.0])
def test_a_coast_lasts_to_the_apoapsis_or_until_shortly_before(before: float) -> None:
    law = Leaning(
        TWO_BURNS,
        {
            "upper": AtApoapsisRadius(RADIUS + 600 * km),
            "coast 1": AtApoapsis(before),
            "upper burn 2": AfterDuration(5.0),
        },
        rate=0.004,
    )
    body = replace(earth(), atmosphere=None, j2=0.0)
    found = fly(plain(), mission(body), law)
    coast = found.trajectory.arcs[-2]
    first, last = coast.states[0], coast.states[-1]
    assert elements(MU, last[:3], last[3:6]).time_to_apoapsis == pytest.approx(before, abs=1e-6)
    # The orbit is a Kepler ellipse: what it promised at the cut-off is what came.
    promised = elements(MU, first[:3], first[3:6]).time_to_apoapsis
    assert coast.times[-1] - coast.times[0] == pytest.approx(promised - before, rel=1e-8)
    if before == 0.0:
        assert np.linalg.norm(last[:3]) == pytest.approx(RADIUS + 600 * km, abs=1e-2)


def test_the_fairing_goes_when_heating_allows() -> None:
    law = Leaning(WITH_FAIRING, {"upper, bare": AfterDuration(20.0)})
    found = fly(plain(), mission(), law)
    arc = next(arc for arc in found.trajectory.arcs if arc.name == "upper")
    heating = found.trajectory.at(arc.times).heating
    limit = 1135.0
    end = found.ends[[end.arc for end in found.ends].index("upper")]
    assert end.ending == BelowHeating(limit)
    drop = found.events["fairing drop"]
    assert drop.mass_before - drop.mass_after == pytest.approx(120.0, abs=1e-9)
    assert heating[-1] <= limit * (1.0 + 1e-6)
    assert len(arc.times) == 1 or heating[-1] == pytest.approx(limit, rel=1e-6)


def test_an_arc_that_nobody_ends_is_refused_before_the_flight() -> None:
    with pytest.raises(InputError, match=r"'upper' may last .* does not say when it ends"):
        fly(plain(), mission(), Leaning(PLAN, {}))


def test_a_flight_below_the_ground_is_over() -> None:
    heavy = replace(plain(), payload_mass=30e3)
    with pytest.raises(HitGround, match="below the ground") as caught:
        fly(heavy, mission(), Leaning(PLAN, {"upper": AfterDuration(1.0)}))
    assert caught.value.time < 10.0
    assert caught.value.trajectory.altitude[-1] == pytest.approx(39.0, abs=1e-6)


def test_a_vehicle_that_falls_back_hits_the_ground() -> None:
    law = Leaning(
        TWO_BURNS,
        {
            "upper": AfterDuration(1.0),
            "coast 1": AfterDuration(5000.0),
            "upper burn 2": AfterDuration(1.0),
        },
    )
    with pytest.raises(HitGround) as caught:
        fly(plain(), mission(), law)
    failure = caught.value
    assert failure.arc == "coast 1"
    assert failure.time == failure.trajectory.time[-1]
    assert failure.trajectory.altitude[-1] == pytest.approx(39.0, abs=1e-3)


def test_a_clock_that_asks_for_more_than_there_is() -> None:
    with pytest.raises(OutOfPropellant, match="all dry") as caught:
        flown(AfterDuration(UPPER.burn_time + 1.0))
    late = caught.value.time - SMALL_CORE.burn_time - UPPER.ignition_delay
    assert late == pytest.approx(UPPER.burn_time, abs=1e-2)


def test_an_ending_that_never_comes() -> None:
    law = Leaning(
        replace(TWO_BURNS, longest_coast=30.0),
        {"upper": AtEmpty(), "coast 1": AtAltitude(9e6), "upper burn 2": AfterDuration(1.0)},
    )
    with pytest.raises(EndingNotReached, match="longer than 30") as caught:
        fly(plain(), mission(), law)
    assert caught.value.arc == "coast 1"


def test_a_failure_keeps_what_it_carries_across_processes() -> None:
    with pytest.raises(FlightError) as caught:
        flown(AfterDuration(1e4))
    again = pickle.loads(pickle.dumps(caught.value))
    assert type(again) is OutOfPropellant
    assert str(again) == str(caught.value)
    assert (again.arc, again.time) == (caught.value.arc, caught.value.time)
    assert again.trajectory == caught.value.trajectory


class Wrong(Leaning):
    """Commands what cannot be."""

    wrong = Command((2.0, 0.0, 0.0))

    def command(self, now: Moment) -> Command:
        return self.wrong


class Throttled(Wrong):
    wrong = Command((1.0, 0.0, 0.0), 0.7)


class Lost(Wrong):
    wrong = Command((float("nan"), 0.0, 0.0))


@pytest.mark.parametrize(
    ("law", "words"),
    [(Wrong, "has the length 2"), (Throttled, "throttle is 0.7"), (Lost, "it must be a Command")],
)
def test_commands_that_no_engine_can_follow(law: type[Leaning], words: str) -> None:
    with pytest.raises(InputError, match=words):
        fly(plain(), mission(), law(PLAN, {"upper": AfterDuration(1.0)}))


@pytest.mark.parametrize("state", [np.zeros(6), np.full(7, np.nan)])
def test_a_start_that_is_no_state(state: np.ndarray) -> None:
    with pytest.raises(InputError, match="7 finite numbers"):
        simulate(
            sequence_of(plain(), mission(), PLAN),
            Leaning(PLAN, {"upper": AfterDuration(1.0)}),
            start_state=state,
        )


@pytest.mark.parametrize(
    ("ending", "words"),
    [
        (ao.AtAltitude(100.00000000005821), "0.100 km of altitude, climbing"),
        (ao.AfterDuration(18.980085564), "18.98 s after the arc began"),
        (ao.AtNextApoapsis(9.834), "9.83 s before the next apoapsis"),
        (ao.AtNextApoapsis(-2.0), "2.00 s after the next apoapsis"),
        (ao.AtApoapsis(), "the apoapsis"),
        (ao.AtApoapsisRadius(492016.5), "apoapsis 492.017 km from the centre"),
    ],
)
def test_an_ending_is_told_in_words_with_its_unit(ending: ao.Ending, words: str) -> None:
    assert str(ending) == words
