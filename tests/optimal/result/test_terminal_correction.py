"""The plan that leads the flight is the plan, led: it does not wander along a flat valley."""

from __future__ import annotations

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.optimize import optimum, task_of
from ascentopt.optimal.result.terminal_correction import HELD, correct_terminal_target
from ascentopt.units import deg, km, kPa
from ascentopt.world.gravity import surface_time_scale
from tests.optimal.launchers import launcher_with_a_fairing, to_an_ellipse_from


@pytest.mark.slow
def test_a_correction_leaves_free_coasts_as_long_as_they_are() -> None:
    """Plane and apsides are free: coasts hundreds of seconds apart cost the same to a millionth."""
    orbit = ao.EllipticalOrbit(periapsis_altitude=314 * km, apoapsis_altitude=1328 * km)
    vehicle, mission = launcher_with_a_fairing(), to_an_ellipse_from(11 * deg, orbit, 60 * kPa)
    before = optimum(vehicle, mission, ao.Effort()).attempt
    coast = next(k for k, arc in enumerate(before.sequence.arcs) if arc.free_coast)
    for metres in (300.0, -300.0):
        miss = np.array([metres, 0.0, 0.0, 0.0, 0.0, 0.0])
        task = task_of(vehicle, mission)
        after = correct_terminal_target(task, before, miss, hold_coasts=True)
        assert after.found is not before.found
        longer = after.found.arcs[coast].duration - before.found.arcs[coast].duration
        assert abs(longer) <= 1.001 * HELD * surface_time_scale(mission.body)
