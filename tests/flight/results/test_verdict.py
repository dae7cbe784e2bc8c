"""A flight says first what became of it."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

import ascentopt as ao
from ascentopt.flight.results.verdict import OrbitMiss, Verdict
from ascentopt.units import deg, km, kPa
from tests.flight.rockets import plain

MISSION = ao.Mission(
    body=ao.earth(),
    site=ao.LaunchSite(latitude=0.1),
    orbit=ao.CircularOrbit(altitude=200 * km),
)
PLAN = ao.FlightPlan(inserting_stage=1, fairing_arc="upper")


def law(burn: float, angle: float = 0.4 * deg, plan: ao.FlightPlan = PLAN) -> ao.GravityTurn:
    last = "upper" if plan.fairing_arc is None else "upper, bare"
    return ao.GravityTurn(
        plan=plan,
        kick=ao.Kick(at=ao.AtAirSpeed(60.0), angle=angle),
        endings=((last, ao.AfterDuration(burn)),),
    )


def verdict(found: ao.Flight) -> Verdict:
    assert found.verdict is not None
    return found.verdict


def made(**changes: object) -> Verdict:
    usual = Verdict(
        asked="circular orbit at 200 km",
        periapsis=199.5 * km,
        apoapsis=201.0 * km,
        inclination=5 * deg,
        floor=100 * km,
        misses=(OrbitMiss(name="periapsis", asked=200 * km, got=199.5 * km, unit="m"),),
        propellant_left=12.0,
        broken=(),
        fairing_kept=False,
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def test_a_lob_is_no_insertion() -> None:
    found = ao.fly(plain(), MISSION, law(30.0))
    said = verdict(found)
    assert not said.in_orbit
    assert said.periapsis < 0.0
    assert str(found).startswith("not in orbit, it comes down: -")
    assert "asked for circular orbit at 200 km" in str(found).splitlines()[0]
    assert "insertion" not in [row.name for row in found.events]
    assert found.events.rows[-1].name == "end of flight"
    assert str(found.budget) in str(found)


def test_what_is_left_is_what_is_aboard() -> None:
    found = ao.fly(plain(), MISSION, law(30.0))
    upper = plain().stages[1]
    dry = upper.dry_mass + plain().payload_mass
    assert verdict(found).propellant_left == pytest.approx(float(found.final_state[6]) - dry)


def test_limits_that_are_broken_are_said() -> None:
    narrow = replace(MISSION, limits=ao.FlightLimits(dynamic_pressure=5 * kPa))
    said = verdict(ao.fly(plain(), narrow, law(30.0)))
    assert [one.name for one in said.broken] == ["dynamic pressure"]
    assert "breaks the limit: dynamic pressure" in str(said)


def test_a_limit_that_is_passed_by_less_than_a_certificate_allows_is_not_called_broken() -> None:
    peak = float(ao.fly(plain(), MISSION, law(30.0)).trajectory.dynamic_pressure.max())
    told = {}
    for beyond in (0.005, 0.02):
        limits = ao.FlightLimits(dynamic_pressure=peak / (1.0 + beyond))
        told[beyond] = str(verdict(ao.fly(plain(), replace(MISSION, limits=limits), law(30.0))))
    assert "at the limit: dynamic pressure" in told[0.005]
    assert "passed by 0.5 % (a certified flight may by 1 %)" in told[0.005]
    assert "breaks the limit: dynamic pressure" in told[0.02]


def test_a_fairing_that_stays_on_is_said() -> None:
    kept = ao.FlightPlan(inserting_stage=1)
    assert "the fairing stays on" in str(ao.fly(plain(), MISSION, law(30.0, plan=kept)))
    assert "the fairing stays on" not in str(ao.fly(plain(), MISSION, law(30.0)))


def test_falling_back_is_said_first() -> None:
    with pytest.raises(ao.FlightError, match=r"^not in orbit, it fell back at .* from the site"):
        ao.fly(plain(), MISSION, law(30.0, angle=40 * deg))


def test_running_dry_is_said_first() -> None:
    with pytest.raises(ao.FlightError, match=r"^not in orbit, it ran out of propellant at "):
        ao.fly(plain(), MISSION, law(1e4))


def test_the_orbit_asked_for() -> None:
    said = made()
    assert said.as_asked
    assert str(said).startswith("in the orbit asked for, circular orbit at 200 km: 199.5 x 201.0")
    assert "misses periapsis by -0.500 km" in str(said)
    assert "propellant left 12.0 kg" in str(said)


def test_another_orbit() -> None:
    miss = OrbitMiss(name="apoapsis", asked=200 * km, got=260 * km, unit="m")
    said = made(misses=(miss,), apoapsis=260 * km)
    assert said.in_orbit
    assert not said.as_asked
    assert str(said).startswith("in another orbit than asked for, circular orbit at 200 km")


def test_an_orbit_that_dips_into_the_air_is_none() -> None:
    assert str(made(periapsis=60 * km)).startswith("not in orbit, it dips into the air")


def test_an_open_orbit_is_none() -> None:
    assert str(made(apoapsis=inf)).startswith("escaping, not in orbit")


def test_angles_miss_by_the_shorter_way_round() -> None:
    node = OrbitMiss(name="ascending node", asked=359.95 * deg, got=0.03 * deg, unit="rad")
    assert node.miss == pytest.approx(0.08 * deg)
    assert node.near
    assert str(node) == "ascending node by +0.080 deg"


def test_an_optimum_is_in_the_orbit_asked_for() -> None:
    from tests.studies.wren import MISSION as KETTLE_MISSION
    from tests.studies.wren import VEHICLE

    ascent = ao.optimize(VEHICLE, KETTLE_MISSION)
    found = ao.fly(VEHICLE, KETTLE_MISSION, ascent.steering)
    assert verdict(found).as_asked
    assert found.events.rows[-1].name == "insertion"
    assert verdict(found).propellant_left == pytest.approx(ascent.propellant_margin, abs=0.1)
