"""Density that differs from day to day at every altitude."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.studies.dispersions.scatter import sensible
from ascentopt.studies.dispersions.scatter.dispersion import ProfileDispersion
from ascentopt.studies.dispersions.scatter.draft import DeviationsDraft
from ascentopt.studies.dispersions.scatter.profile import (
    Profile,
    checked_profile,
    mean_over_altitude,
)
from ascentopt.studies.dispersions.scatter.whole import check_air
from ascentopt.tables import in_a_line
from ascentopt.typing import Floats


@checked
@dataclass(frozen=True, kw_only=True)
class RandomDensity(ProfileDispersion):
    """Density that scatters at every altitude, more like itself nearby than far away.

    At altitude h it is exp(sigma(h) g(h)) times that of the mission's air, g the Gauss-Markov
    process of `RandomWind` with its own length (common practice, no source). Pressure and speed of
    sound stay as they are.

    Args:
        altitude: increasing, m; at least two. Beyond the ends the factor stays as it is there.
        sigma: standard deviation of the logarithm at these altitudes, which for small ones is that
            of the share; linear between them.
        correlation_length: m.

    Raises:
        InputError: for what makes no sense.
    """

    altitude: Sequence[float]
    sigma: Sequence[float]
    correlation_length: float

    name = "density profile"
    columns = (("mean density", "-"),)

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        columns = self.altitude, self.sigma
        found = checked_profile(
            "RandomDensity", columns, self.correlation_length, "", sensible.DENSITY_PROFILE
        )
        object.__setattr__(self, "altitude", found.altitude)
        object.__setattr__(self, "sigma", found.sigma)

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse it where there is no air. Raises `InputError`."""
        check_air("RandomDensity", vehicle, mission)

    def put_draws(self, seed: int, begin: int, end: int, draft: DeviationsDraft) -> Floats:
        """Scale the density; (n, 1) the mean over altitude, less one."""
        profile = Profile(self.altitude, self.sigma, self.correlation_length)
        factors = np.exp(profile.drawn(seed, "density profile", begin, end))
        draft.scale_density(profile.knots, factors)
        return mean_over_altitude(profile.knots, factors)[:, None] - 1.0
