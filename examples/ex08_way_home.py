"""Up to an orbit of an invented small planet and home again, with the propellant for it kept.

Run it with a directory for its files as the argument; by default they go to ``out``. Preliminary
analysis only: real launches and re-entries are for licensed practice and range safety.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import ascentopt as ao
from ascentopt.units import km, kN, tonne

HEARTH = ao.Body(
    name="Hearth",
    gravitational_parameter=5.1e12,
    radius=820 * km,
    rotation_rate=1.5e-4,
    atmosphere=ao.Atmosphere.exponential(
        surface_density=0.9, scale_height=7.5 * km, ceiling=90 * km
    ),
)

DUNLIN = ao.Vehicle(
    name="Dunlin",
    payload_mass=2.4 * tonne,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=13 * tonne,
            dry_mass=2.3 * tonne,
            engine=ao.Engine(vacuum_thrust=290 * kN, vacuum_isp=312.0, sea_level_isp=270.0),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=3.4 * tonne,
            dry_mass=0.75 * tonne,
            engine=ao.Engine(vacuum_thrust=50 * kN, vacuum_isp=342.0),
            restarts=2,
        ),
    ),
    aerodynamics=ao.Aerodynamics(reference_area=1.9, drag_coefficient=0.35),
)

MISSION = ao.Mission(
    body=HEARTH,
    site=ao.LaunchSite(name="Sandbar", latitude=0.0, altitude=70.0),
    orbit=ao.CircularOrbit(altitude=110 * km),
    reserve=ao.DeorbitReserve(periapsis_altitude=40 * km),
)


def main(directory: Path) -> None:
    """Optimise with the reserve, fly home, print both, save both, and check the numbers."""
    directory.mkdir(parents=True, exist_ok=True)
    ascent = ao.optimize(DUNLIN, MISSION)
    print(ascent)
    home = ao.deorbit(ascent, periapsis_altitude=40 * km)
    print(f"\n{home}")
    home.save(directory / "way_home.json")
    check(ascent, home, directory)


def check(ascent: ao.Ascent, home: ao.Deorbit, directory: Path) -> None:
    """Fail when an answer has drifted or can no longer be trusted."""
    assert not ascent.certificate.beyond(), ascent.certificate
    assert home.suffices
    assert abs(home.delta_v / home.impulsive_delta_v - 1.0) < 0.01
    lean = ao.orbiting(ascent)
    lean = replace(lean, mass=lean.empty_mass + ascent.reserve)
    assert ao.deorbit(lean, periapsis_altitude=40 * km).suffices, "the reserve alone must do"
    assert abs(home.entry.altitude - 90 * km) < 1.0
    assert home.entry.flight_path_angle < 0.0
    assert str(ao.Deorbit.load(directory / "way_home.json")) == str(home)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "out"))
