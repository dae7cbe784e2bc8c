"""What a solve gets of the time that is left for the whole."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from ascentopt.collocation import SolverSettings
from ascentopt.progress import Deadline

GRAIN = 0.5
"""s to which the time left is rounded up: solvers are kept by their settings, and one for every
millisecond is none that is kept."""


def settings_until(deadline: Deadline, settings: SolverSettings) -> SolverSettings:
    """The settings, with no more time than is left.

    Raises:
        TimeIsUp: when none is.
    """
    left = deadline.left()
    if left >= settings.time_limit:
        return settings
    grains = GRAIN * ceil(left / GRAIN)
    return replace(settings, time_limit=min(grains, settings.time_limit))
