"""What habits cost: rules of thumb beside the optimum, on a small planet and on Earth.

Run it with a directory for its files as the argument; by default they go to ``out``. Preliminary
analysis only: real launches are for licensed practice and range safety to decide.
"""

from __future__ import annotations

import sys
from pathlib import Path

import ascentopt as ao
from ascentopt.report import comparison_figure, losses_figure
from ascentopt.units import deg, km, kN, tonne

_SLENDER = ao.DragCurve(
    mach=(0.0, 0.6, 0.9, 1.1, 1.4, 2.0, 3.0, 5.0, 8.0),
    cd=(0.30, 0.30, 0.38, 0.55, 0.52, 0.42, 0.32, 0.25, 0.22),
)

# Our pilot's planet: 8 m/s^2 on the ground, and thick air that ends at 50 km.
MARBLE = ao.Body(
    name="Marble",
    gravitational_parameter=2e12,
    radius=500 * km,
    rotation_rate=2e-4,
    atmosphere=ao.Atmosphere.exponential(surface_density=2.0, scale_height=4 * km, ceiling=50 * km),
)
KNOT = ao.Vehicle(
    name="Knot",
    payload_mass=1.4 * tonne,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=8.5 * tonne,
            dry_mass=1.6 * tonne,
            engine=ao.Engine(vacuum_thrust=205 * kN, vacuum_isp=305.0, sea_level_isp=265.0),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=3.6 * tonne,
            dry_mass=0.8 * tonne,
            engine=ao.Engine(vacuum_thrust=55 * kN, vacuum_isp=345.0),
            restarts=2,
        ),
    ),
    aerodynamics=ao.Aerodynamics(reference_area=2.0, drag_coefficient=_SLENDER),
)
LEDGE = ao.Mission(
    body=MARBLE,
    site=ao.LaunchSite(name="The Ledge", latitude=5 * deg),
    orbit=ao.CircularOrbit(altitude=90 * km),
)

PHALAROPE = ao.Vehicle(
    name="Phalarope",
    payload_mass=150.0,
    stages=(
        ao.Stage(
            name="first",
            propellant_mass=10 * tonne,
            dry_mass=0.95 * tonne,
            engine=ao.Engine(vacuum_thrust=230 * kN, vacuum_isp=315.0, sea_level_isp=280.0),
        ),
        ao.Stage(
            name="second",
            propellant_mass=2.4 * tonne,
            dry_mass=0.22 * tonne,
            engine=ao.Engine(vacuum_thrust=36 * kN, vacuum_isp=345.0),
            restarts=1,
            ignition_delay=2.0,
        ),
    ),
    fairing=ao.Fairing(mass=50.0),
    aerodynamics=ao.Aerodynamics(reference_area=1.3, drag_coefficient=_SLENDER),
)
HERON_SPIT = ao.Mission(
    body=ao.earth(),
    site=ao.LaunchSite(name="Heron Spit", latitude=-12 * deg, altitude=40.0),
    orbit=ao.CircularOrbit(altitude=250 * km),
)


def main(directory: Path) -> None:
    """Compare on both, print, save figures, and check the numbers."""
    directory.mkdir(parents=True, exist_ok=True)
    for vehicle, mission in ((KNOT, LEDGE), (PHALAROPE, HERON_SPIT)):
        found = ao.compare(vehicle, mission)
        print(found, end="\n\n")
        name = vehicle.name.lower()
        found.save(directory / f"{name}.json")
        comparison_figure(found).savefig(directory / f"{name}_comparison.png", dpi=110)
        losses_figure(found).savefig(directory / f"{name}_losses.png", dpi=110)
        check(found)
        assert str(ao.Comparison.load(directory / f"{name}.json")) == str(found)
    print(f"wrote comparisons and figures to {directory}")


def check(found: ao.Comparison) -> None:
    """Fail when an answer has drifted or can no longer be trusted."""
    assert not found.ascent.certificate.beyond(), found.ascent.certificate
    expected = EXPECTED[found.ascent.vehicle.name]
    reached = [one for one in found.outcomes if one.reached]
    penalties = {one.name: one.penalty for one in reached if one.penalty is not None}
    assert set(penalties) == set(expected), penalties
    for name, (penalty, close) in expected.items():
        assert penalties[name] > 0.0, (name, penalties[name])
        assert abs(penalties[name] - penalty) < close, (name, penalties[name])
    assert {one.name for one in reached if one.broken} == BROKEN[found.ascent.vehicle.name]
    assert found.best_rule is not None
    (least, close), *_ = expected.values()
    assert expected[found.best_rule.name][0] < least + close


KICK, ANGLE = "gravity turn from a kick", "flight-path angle at an altitude"
RATE = "constant pitch rate"
CIRCLE, TANGENT = "coast and circularise", "linear tangent"

# kg beyond the optimum, and how far they may drift: a habit is one flight, while tuning may end
# anywhere in a flat valley. Found by this program on 2026-11-30; no published figures.
EXPECTED = {
    "Knot": {
        f"{RATE}, {CIRCLE}, tuned": (11.6, 3.0),
        f"{RATE}, {TANGENT}, tuned": (11.7, 3.0),
        f"{ANGLE}, {CIRCLE}, tuned": (16.0, 3.0),
        f"{ANGLE}, {TANGENT}, tuned": (16.6, 3.0),
        f"{KICK}, {CIRCLE}, tuned": (19.2, 3.0),
        f"{KICK}, {TANGENT}, tuned": (19.9, 3.0),
        f"{ANGLE}, {CIRCLE}, by habit": (23.0, 1.0),
        f"{ANGLE}, {TANGENT}, by habit": (24.9, 1.0),
        f"{RATE}, {CIRCLE}, by habit": (822.8, 1.0),
        f"{RATE}, {TANGENT}, by habit": (850.2, 1.0),
    },
    "Phalarope": {
        f"{KICK}, {CIRCLE}, tuned": (1.9, 0.6),
        f"{ANGLE}, {TANGENT}, tuned": (1.9, 0.6),
        f"{ANGLE}, {CIRCLE}, tuned": (2.0, 0.6),
        f"{KICK}, {TANGENT}, tuned": (2.0, 0.6),
        f"{RATE}, {CIRCLE}, tuned": (20.9, 1.0),
        f"{RATE}, {TANGENT}, tuned": (40.0, 1.0),
        f"{RATE}, {TANGENT}, by habit": (171.2, 1.0),
        f"{RATE}, {CIRCLE}, by habit": (209.5, 1.0),
        f"{KICK}, {TANGENT}, by habit": (228.9, 1.0),
        f"{KICK}, {CIRCLE}, by habit": (246.6, 1.0),
    },
}

BROKEN: dict[str, set[str]] = {
    "Knot": set(),
    "Phalarope": {f"{RATE}, {CIRCLE}, tuned"},
}
"""Flights that exceed a limit: the payload's heating after the fairing has gone, where a long coast
begins low."""


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "out"))
