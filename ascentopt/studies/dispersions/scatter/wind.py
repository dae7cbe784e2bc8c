"""Winds that differ from day to day: measured ones, or random ones of a stated model."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.studies.dispersions.scatter import sensible
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from ascentopt.studies.dispersions.scatter.profile import (
    Profile,
    checked_profile,
    mean_over_altitude,
)
from ascentopt.studies.dispersions.scatter.scores import scores
from ascentopt.studies.dispersions.scatter.whole import check_air
from ascentopt.tables import in_a_line
from ascentopt.typing import Floats
from ascentopt.world import Wind


@dataclass(frozen=True, eq=False)
class WindDraws:
    """Winds of draws beyond the mission's own.

    Attributes:
        altitude: (k,) m, where they are given.
        eastward, northward: (n, k) m/s, linear between them and constant beyond.
    """

    altitude: Floats
    eastward: Floats
    northward: Floats

    def means(self) -> Floats:
        """(n, 2) eastward and northward, averaged over the altitudes from end to end."""
        sides = self.eastward, self.northward
        return np.stack([mean_over_altitude(self.altitude, side) for side in sides], axis=1)


class WindDispersion(Dispersion):
    """A wind for each flight."""

    name = "wind"
    columns = (("mean eastward wind", "m/s"), ("mean northward wind", "m/s"))

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse wind where there is no air. Raises `InputError`."""
        check_air(type(self).__name__, vehicle, mission)

    @abstractmethod
    def drawn(self, seed: int, begin: int, end: int, own: Wind | None) -> WindDraws:
        """Winds of draws ``begin`` to ``end`` - 1 beyond the mission's ``own``, None for calm."""


@checked
@dataclass(frozen=True)
class WindProfiles(WindDispersion):
    """Measured winds, of which each flight meets one, drawn at random, each as likely.

    They take the place of the mission's wind, and what the share of flights says is of days such as
    these: a hundred profiles of a month tell little of its one worst day in a hundred. Profiles are
    read at all altitudes that any of them names, and are linear between these. Raises `InputError`.
    """

    profiles: Sequence[Wind]

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        if len(self.profiles) < 2:
            raise InputError(
                f"WindProfiles: profiles holds {len(self.profiles)}; it must hold 2 or more. One "
                "wind is no scatter: give it to the mission's atmosphere."
            )

    def drawn(self, seed: int, begin: int, end: int, own: Wind | None) -> WindDraws:
        """As many of the profiles, each with its own chance."""
        from scipy.special import ndtr

        shares = ndtr(scores(seed, "wind: profile", begin, end))
        chosen = np.minimum((shares * len(self.profiles)).astype(int), len(self.profiles) - 1)
        winds = self.profiles if own is None else (*self.profiles, own)
        altitude = np.unique(np.concatenate([one.altitude for one in winds]))
        sides = np.array([one.at(altitude) for one in self.profiles], dtype=float)
        calm = np.zeros((2, len(altitude)))
        beyond = sides - (calm if own is None else np.array(own.at(altitude), dtype=float))
        return WindDraws(altitude, beyond[chosen, 0], beyond[chosen, 1])


@checked
@dataclass(frozen=True, kw_only=True)
class RandomWind(WindDispersion):
    """Wind that scatters about the mission's, what it does at altitudes near each other correlated.

    Eastward and northward, independently of each other, what is added at altitude h is

        w(h) = sigma(h) g(h),

    g a Gaussian process of variance one whose values at two altitudes are correlated by
    exp(-|h1 - h2| / L): the first-order Gauss-Markov process, made exactly at altitudes a quarter
    of L apart or less and linear between them. That winds at altitudes are jointly normal is the
    model of NASA's vector wind profiles (S. I. Adelfang, NASA/CR-1999-209759); the one length in
    place of a table of measured correlations is common practice, no source. Gusts shorter than L/4
    are not in it. The mean wind is the mission's: give it to the atmosphere
    (`Atmosphere.with_wind`).

    Args:
        altitude: increasing, m; at least two. Beyond the ends the wind stays as it is there.
        sigma: standard deviation of each component at these altitudes, m/s; linear between them.
        correlation_length: L, m.

    Raises:
        InputError: for what makes no sense.
    """

    altitude: Sequence[float]
    sigma: Sequence[float]
    correlation_length: float

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        columns = self.altitude, self.sigma
        found = checked_profile(
            "RandomWind", columns, self.correlation_length, "m/s", sensible.WIND_SCATTER
        )
        object.__setattr__(self, "altitude", found.altitude)
        object.__setattr__(self, "sigma", found.sigma)

    @property
    def profile(self) -> Profile:
        """Of each of the two components."""
        return Profile(self.altitude, self.sigma, self.correlation_length)

    def drawn(self, seed: int, begin: int, end: int, own: Wind | None) -> WindDraws:
        """Eastward and northward, each with its own chance."""
        profile = self.profile
        sides = [
            profile.drawn(seed, f"wind: {side}", begin, end) for side in ("eastward", "northward")
        ]
        return WindDraws(profile.knots, *sides)
