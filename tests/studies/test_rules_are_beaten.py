"""No rule of thumb that keeps the limits costs less than the optimum, whatever the vehicle."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.rules.insertion.ways import Circularise, LinearTangentInsertion
from ascentopt.rules.laws.kick import KickRule
from ascentopt.rules.laws.pitch_rate import PitchRateRule
from ascentopt.units import km
from tests.flight.rockets import globe

SLACK = 1e-4  # of the propellant: rounding, and what a mesh leaves
QUICK = ao.Catalogue(rules=(KickRule(),), insertions=(Circularise(),))
WHOLE = ao.Catalogue(
    rules=(KickRule(), PitchRateRule()), insertions=(Circularise(), LinearTangentInsertion())
)
GRAVITY, RADIUS, TOP = 5.0, 900 * km, 70 * km
EXHAUST = 320.0 * 9.80665


@st.composite
def vehicles(draw: st.DrawFn) -> ao.Vehicle:
    """One or two stages with some 3.2 to 3.6 km/s, and 1.5 to 2.6 times their weight in thrust."""
    shares = draw(st.sampled_from([(1.0,), (0.55, 0.45), (0.7, 0.3)]))
    delta_v = draw(st.floats(3200.0, 3600.0))
    above, stages = draw(st.floats(500.0, 2000.0)), []
    payload = above
    for index, share in reversed(list(enumerate(shares))):
        ratio = 2.718281828 ** (share * delta_v / EXHAUST)
        dry_share = draw(st.floats(0.08, 0.12))  # of the propellant
        assume(1.0 - dry_share * (ratio - 1.0) > 0.2)
        propellant = (ratio - 1.0) * above / (1.0 - dry_share * (ratio - 1.0))
        dry = dry_share * propellant
        above += propellant + dry
        thrust = draw(st.floats(1.5, 2.6)) * above * GRAVITY
        engine = ao.Engine(vacuum_thrust=thrust, vacuum_isp=EXHAUST / 9.80665)
        stages.append(
            ao.Stage(
                name=f"stage {index + 1}",
                propellant_mass=propellant,
                dry_mass=dry,
                engine=engine,
                restarts=1,
            )
        )
    return ao.Vehicle(
        name="Drawn",
        payload_mass=payload,
        stages=tuple(reversed(stages)),
        aerodynamics=ao.Aerodynamics(reference_area=1.5, drag_coefficient=0.4),
    )


def mission(*, airy: bool) -> ao.Mission:
    air = ao.Atmosphere.exponential(
        surface_density=1.0, scale_height=5 * km, ceiling=60 * km, surface_temperature=288.15
    )
    return ao.Mission(
        body=globe(
            gravity=GRAVITY, radius=RADIUS, atmosphere=air if airy else None, rotation_rate=1e-4
        ),
        site=ao.LaunchSite(latitude=0.2),
        orbit=ao.CircularOrbit(altitude=TOP),
    )


def check(vehicle: ao.Vehicle, flown: ao.Mission, catalogue: ao.Catalogue) -> None:
    try:
        found = ao.compare(vehicle, flown, catalogue=catalogue)
    except ao.InfeasibleAscent:
        assume(False)
        return
    best = found.ascent.propellant_used
    kept = [one for one in found.outcomes if one.penalty is not None and not one.broken]
    assume(bool(kept))
    for one in kept:
        assert one.penalty is not None
        assert one.penalty > -SLACK * best, f"{one.name} costs {-one.penalty:.2f} kg less"


FEW = settings(max_examples=3, deadline=None, suppress_health_check=list(HealthCheck))
MANY = settings(FEW, max_examples=6)


@pytest.mark.slow
@FEW
@given(vehicle=vehicles())
def test_without_air(vehicle: ao.Vehicle) -> None:
    check(vehicle, mission(airy=False), QUICK)


@pytest.mark.slow
@FEW
@given(vehicle=vehicles())
def test_in_thick_air(vehicle: ao.Vehicle) -> None:
    check(vehicle, mission(airy=True), QUICK)


@pytest.mark.long
@pytest.mark.parametrize("airy", [False, True])
@MANY
@given(vehicle=vehicles())
def test_many_with_every_insertion(airy: bool, vehicle: ao.Vehicle) -> None:  # noqa: FBT001
    check(vehicle, mission(airy=airy), WHOLE)
