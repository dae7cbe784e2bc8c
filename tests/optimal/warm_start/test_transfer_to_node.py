"""Transfers to where the planes meet: which one costs least, and the burn at its far end."""

from __future__ import annotations

from math import cos, radians, sin, sqrt

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import direct
from ascentopt.optimal.guess.flown_arcs import fly_pushed
from ascentopt.optimal.warm_start.transfer_to_node import (
    Transfer,
    impulse_at_node,
    transfer_to_node,
)
from ascentopt.units import deg, km, kN, tonne

MOON = ao.moon()
MU, RADIUS = MOON.gravitational_parameter, MOON.radius
LATITUDE = 30.0
"""Of the pad, deg."""

LANDER = ao.Vehicle(
    name="Pipit",
    payload_mass=500.0,
    stages=(
        ao.Stage(
            name="only",
            propellant_mass=6 * tonne,
            dry_mass=600.0,
            restarts=1,
            engine=ao.Engine(vacuum_thrust=25 * kN, vacuum_isp=320),
        ),
    ),
)


def to(node: float | None = None, inclination: float = 5.0) -> ao.Mission:
    """To a circle at 5000 km, its node in deg or free."""
    orbit = ao.CircularOrbit(
        altitude=5000 * km,
        inclination=inclination * deg,
        ascending_node=None if node is None else node * deg,
    )
    return ao.Mission(body=MOON, site=ao.LaunchSite(latitude=LATITUDE * deg), orbit=orbit)


def last_burn(mission: ao.Mission) -> FlightArc:
    """The burn into the low circle, or any other of the only stage."""
    return sequence_of(LANDER, mission, direct(LANDER)).arcs[-1]


def cheapest(mission: ao.Mission) -> Transfer:
    """From a circle that is reached ten degrees east of the pad."""
    pad = RADIUS * np.array([cos(radians(LATITUDE)), 0.0, sin(radians(LATITUDE))])
    found = transfer_to_node(mission, pad, circling(10.0), last_burn(mission))
    assert found is not None
    return found


def circling(ahead: float) -> Array:
    """(7,) state so many deg ahead of the pad in a circle that began due east."""
    radius, angle = 1.01 * RADIUS, radians(ahead)
    up = np.array([cos(radians(LATITUDE)), 0.0, sin(radians(LATITUDE))])
    east = np.array([0.0, 1.0, 0.0])
    place = cos(angle) * up + sin(angle) * east
    along = cos(angle) * east - sin(angle) * up
    return np.array([*radius * place, *sqrt(MU / radius) * along, 4000.0])


def test_a_free_node_is_met_at_a_smaller_angle_than_over_the_equator() -> None:
    """An orbit leant towards where it is met has up to its inclination less to turn."""
    free, level = cheapest(to()), cheapest(to(inclination=0.0))
    assert abs(free.place[2]) > sin(2.0 * deg)
    assert free.cost < level.cost - 10.0


@pytest.mark.parametrize("node", [0.0, 90.0, 180.0, 270.0])
def test_no_node_that_is_given_is_cheaper_than_a_free_one(node: float) -> None:
    """But for what the grid is coarse, a metre per second or two."""
    assert cheapest(to()).cost < cheapest(to(node)).cost + 2.0


def test_the_impulse_at_the_far_end_leads_into_the_orbit() -> None:
    mission = to()
    transfer = cheapest(mission)
    here = transfer.low * transfer.periapsis
    pace = sqrt(2.0 * MU * transfer.high / (transfer.low * (transfer.low + transfer.high)))
    along = np.cross(transfer.normal, transfer.periapsis)
    impulse = impulse_at_node(mission, transfer, np.array([*here, *pace * along, 3000.0]))
    normal = np.cross(impulse.position, impulse.after)
    assert normal[2] / np.linalg.norm(normal) == pytest.approx(cos(5.0 * deg), abs=1e-9)
    assert impulse.position @ impulse.after == pytest.approx(0.0, abs=1e-2)


def test_a_burn_where_a_path_falls_is_pushed_upwards_too() -> None:
    """Half a minute gains what an impulse does, less the weight: along the ground alone it fell."""
    arc = last_burn(to())
    place = np.array([6.7e6, 0.0, 0.0])
    before, after = np.array([-300.0, 550.0, 0.0]), np.array([0.0, 700.0, 500.0])
    start = np.array([*place, *before, 3000.0])
    flown = fly_pushed(arc, start, 0.0, 30.0, 8, (place, after - before))
    gained = flown.states[-1, 3:6] - before + np.array([MU / 6.7e6**2, 0.0, 0.0]) * 30.0
    aimed = (after - before) / np.linalg.norm(after - before)
    assert gained @ aimed / np.linalg.norm(gained) == pytest.approx(1.0, abs=1e-4)
