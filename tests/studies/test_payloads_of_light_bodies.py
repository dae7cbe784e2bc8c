"""Greatest payloads and refusals on light bodies: the weight on the pad decides, or a weak stage.

Stages that a light payload leaves unlit are lit by a heavier one, and which structure is best
changes on the way to the greatest.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

import ascentopt as ao
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import deg, km, kN, tonne

TO_SPARE = 0.003
"""Share of the greatest payload by which the one named in a refusal is less, at most."""


def airless(radius: float, gravity: float) -> ao.Body:
    """So many km across its half, m/s^2 at its surface."""
    metres = radius * km
    return ao.Body(
        name="Gravel", radius=metres, gravitational_parameter=gravity * metres**2,
        rotation_rate=2.0 * pi / 32400.0,
    )  # fmt: skip


def shrew(thrusts: tuple[float, float], payload: float = 1000.0) -> ao.Vehicle:
    """Two stages of so many N."""
    return ao.Vehicle(
        name="Shrew", payload_mass=payload,
        stages=(
            ao.Stage(name="lower", propellant_mass=2.5 * tonne, dry_mass=0.25 * tonne,
                     engine=ao.Engine(vacuum_thrust=thrusts[0], vacuum_isp=300.0)),
            ao.Stage(name="upper", propellant_mass=0.9 * tonne, dry_mass=0.072 * tonne, restarts=1,
                     engine=ao.Engine(vacuum_thrust=thrusts[1], vacuum_isp=320.0)),
        ),
    )  # fmt: skip


def to_a_low_circle(body: ao.Body) -> ao.Mission:
    site = ao.LaunchSite(latitude=30 * deg)
    return ao.Mission(body=body, site=site, orbit=ao.CircularOrbit(altitude=55 * km))


def of_a_larger_body(thrust: float) -> tuple[ao.Vehicle, ao.Mission]:
    """With so many times the weight of 5.5 t at lift-off, above it a weak stage."""
    body = airless(1000.0, 1.6)
    weight = 5500.0 * body.surface_gravity
    return shrew((thrust * weight, 2240.0)), to_a_low_circle(body)


def test_the_weight_on_the_pad_holds_it_where_a_lighter_one_leaves_a_stage_unlit() -> None:
    body = airless(260.0, 1.1)
    vehicle, mission = shrew((9 * kN, 5.6 * kN)), to_a_low_circle(body)
    found = ao.max_payload(vehicle, mission)
    lifted = 9 * kN / body.surface_gravity - vehicle.lift_off_mass + vehicle.payload_mass
    assert found.payload == pytest.approx(lifted, rel=1e-4)
    assert found.held_by.kind is ao.HeldBy.THRUST_AT_LIFT_OFF
    assert found.ascent.certificate.verdict is Verdict.CERTIFIED


@pytest.mark.slow
@pytest.mark.parametrize("thrust", [1.7, 2.0, 2.1])
def test_no_structure_is_bounded_by_what_it_did_with_less_aboard(thrust: float) -> None:
    """Best at a light payload is one burn; next to the greatest a coast saves a twelfth."""
    vehicle, mission = of_a_larger_body(thrust)
    found = ao.max_payload(vehicle, mission)
    assert found.ascent.certificate.verdict is Verdict.CERTIFIED
    again = ao.optimize(replace(vehicle, payload_mass=found.payload), mission)
    assert again.propellant_margin < 1e-3 * vehicle.propellant_mass
    with pytest.raises(ao.InfeasibleAscent):
        ao.optimize(replace(vehicle, payload_mass=1.01 * found.payload), mission)


@pytest.mark.slow
def test_the_payload_named_is_the_greatest_however_little_too_much_was_asked() -> None:
    """Not what the stage below carries alone, with the upper one unlit: six tenths of it."""
    vehicle, mission = of_a_larger_body(1.6)
    greatest = ao.max_payload(vehicle, mission).payload
    short = 0.0
    for share in (1.005, 1.03, 1.1):
        with pytest.raises(ao.InfeasibleAscent) as caught:
            ao.optimize(replace(vehicle, payload_mass=share * greatest), mission)
        refusal = caught.value
        assert refusal.diagnosis is not None
        assert refusal.diagnosis.payload == pytest.approx(greatest, rel=TO_SPARE)
        assert refusal.shortfall is not None
        assert refusal.shortfall > short
        short = refusal.shortfall


@pytest.mark.parametrize(
    "share",
    [pytest.param(1.05, marks=pytest.mark.slow), 1.1, pytest.param(1.14, marks=pytest.mark.slow)],
)
def test_an_overdrawn_tank_on_the_way_is_no_greatest_payload(share: float) -> None:
    """Held by the first burn of a stage, its tank overdrawn by the second."""
    stages = (
        ao.Stage(name="lower", propellant_mass=4 * tonne, dry_mass=0.36 * tonne, restarts=1,
                 engine=ao.Engine(vacuum_thrust=18 * kN, vacuum_isp=310.0)),
        ao.Stage(name="upper", propellant_mass=1.2 * tonne, dry_mass=0.144 * tonne, restarts=2,
                 engine=ao.Engine(vacuum_thrust=5 * kN, vacuum_isp=318.0)),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.moon(), site=ao.LaunchSite(latitude=5 * deg),
        orbit=ao.CircularOrbit(altitude=100 * km, inclination=90 * deg),
    )  # fmt: skip
    vehicle = ao.Vehicle(name="Vole", payload_mass=share * 4374.76, stages=stages)
    with pytest.raises(ao.InfeasibleAscent) as caught:
        ao.optimize(vehicle, mission)
    assert caught.value.diagnosis is not None
    assert caught.value.diagnosis.payload == pytest.approx(4374.76, rel=TO_SPARE)
