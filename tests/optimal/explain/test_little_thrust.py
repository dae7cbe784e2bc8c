"""Refusals of vehicles that thrust holds, not propellant: a longer burn ends below the ground."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import deg, km, kN


def _stage(name: str, propellant: float, dry: float, thrust: float, isp: float) -> ao.Stage:
    engine = ao.Engine(vacuum_thrust=thrust * kN, vacuum_isp=isp)
    last = int(name == "c")
    return ao.Stage(
        name=name, propellant_mass=propellant, dry_mass=dry, engine=engine, restarts=last
    )


STONECHAT = ao.Vehicle(
    name="Stonechat",
    payload_mass=14000.0,
    stages=(
        _stage("a", 5000.0, 600.0, 62.0, 345.0),
        _stage("b", 4000.0, 450.0, 22.0, 325.0),
        _stage("c", 3400.0, 400.0, 18.0, 460.0),
    ),
)
"""Its upper stages weigh as much as they push, on the Moon, while they climb."""

MISSION = ao.Mission(
    body=ao.moon(),
    site=ao.LaunchSite(latitude=-20.0 * deg),
    orbit=ao.CircularOrbit(altitude=120.0 * km, inclination=25.0 * deg),
)


def refused(payload: float) -> ao.InfeasibleAscent:
    with pytest.raises(ao.InfeasibleAscent) as refusal:
        ao.optimize(replace(STONECHAT, payload_mass=payload), MISSION)
    return refusal.value


def test_the_payload_named_flies_and_one_per_cent_more_does_not() -> None:
    told = refused(14000.0)
    assert told.diagnosis is not None
    named = told.diagnosis.payload
    assert named is not None
    flown = ao.optimize(replace(STONECHAT, payload_mass=named), MISSION)
    assert flown.certificate.verdict is Verdict.CERTIFIED
    slightly = refused(1.01 * named)
    assert slightly.diagnosis is not None
    assert slightly.diagnosis.payload == pytest.approx(named, rel=2e-3)
    assert 0.0 < (slightly.shortfall or 0.0) < (told.shortfall or 0.0)
