"""The least-propellant ascent of an invented two-stage launcher to a 300 km circular orbit.

Run it with a directory for its files as the argument; by default they go to ``out``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import ascentopt as ao
from ascentopt.report import ascent_figure, flight_card, history_figure
from ascentopt.units import deg, km, kN, kPa, tonne

TURNSTONE = ao.Vehicle(
    name="Turnstone",
    payload_mass=1.1 * tonne,
    stages=(
        ao.Stage(
            name="first",
            propellant_mass=62.0 * tonne,
            dry_mass=4.8 * tonne,
            engine=ao.Engine(vacuum_thrust=1150 * kN, vacuum_isp=311.0, sea_level_isp=282.0),
        ),
        ao.Stage(
            name="second",
            propellant_mass=11.5 * tonne,
            dry_mass=0.95 * tonne,
            engine=ao.Engine(vacuum_thrust=95 * kN, vacuum_isp=343.0),
            restarts=1,
            ignition_delay=3.0,
        ),
    ),
    fairing=ao.Fairing(mass=320.0),
    aerodynamics=ao.Aerodynamics(
        reference_area=4.5,
        drag_coefficient=ao.DragCurve(
            mach=(0.0, 0.6, 0.9, 1.1, 1.4, 2.0, 3.0, 5.0, 8.0),
            cd=(0.30, 0.30, 0.38, 0.55, 0.52, 0.42, 0.32, 0.25, 0.22),
        ),
    ),
)

PELICAN_POINT = ao.Mission(
    body=ao.earth(),
    site=ao.LaunchSite(name="Pelican Point", latitude=-12 * deg, altitude=40.0),
    orbit=ao.CircularOrbit(altitude=300 * km),
    limits=ao.FlightLimits(dynamic_pressure=40 * kPa),
)

EXPECTED_FINAL_MASS = 3597.65
"""kg, found by this program on 2026-11-29; it guards against drift, it is no published figure."""


def main(directory: Path) -> None:
    """Optimise, print, write the steering law, the result and figures, and check the numbers."""
    directory.mkdir(parents=True, exist_ok=True)
    ascent = ao.optimize(TURNSTONE, PELICAN_POINT)
    print(ascent)
    ascent.steering.to_csv(directory / "steering.csv")
    ascent.steering.save(directory / "steering.json")
    ascent.save(directory / "ascent.json")
    ascent_figure(ascent).savefig(directory / "first_ascent.png", dpi=120)
    history_figure(ascent).savefig(directory / "histories.png", dpi=100)
    card = flight_card(ascent)
    card.savefig(directory / "flight_card.png", dpi=100)
    card.savefig(directory / "flight_card.pdf")
    print(f"\nwrote {', '.join(sorted(path.name for path in directory.iterdir()))} to {directory}")
    check(ascent, directory)


def check(ascent: ao.Ascent, directory: Path) -> None:
    """Fail when an answer has drifted or can no longer be trusted."""
    assert abs(ascent.final_mass / EXPECTED_FINAL_MASS - 1.0) < 1e-4, ascent.final_mass
    assert not ascent.certificate.beyond(), ascent.certificate
    assert ascent.certificate.position_miss < 10.0
    assert ascent.certificate.velocity_miss < 0.01
    assert abs(ascent.budget.closing_error) < 0.1
    assert len(ascent.candidates) == 2
    assert str(ao.Ascent.load(directory / "ascent.json")) == str(ascent)
    assert (directory / "flight_card.pdf").read_bytes().startswith(b"%PDF-")
    again = ao.fly(
        TURNSTONE, PELICAN_POINT, ao.TabulatedSteering.load(directory / "steering.json")
    )
    assert abs(again.final_state[6] - ascent.final_mass) < 0.01


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "out"))
