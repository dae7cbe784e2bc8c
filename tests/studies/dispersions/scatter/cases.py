"""What scatters in the tests: the invented rocket on its invented small planet."""

from __future__ import annotations

import ascentopt as ao
from ascentopt.studies.dispersions.scatter.density import RandomDensity
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from ascentopt.studies.dispersions.scatter.distributions import Normal, TruncatedNormal, Uniform
from ascentopt.studies.dispersions.scatter.parts import (
    DryMassDispersion,
    IgnitionDispersion,
    IspDispersion,
    PropellantDispersion,
    SeparationDispersion,
    ThrustDispersion,
)
from ascentopt.studies.dispersions.scatter.whole import (
    AlignmentDispersion,
    DensityDispersion,
    DragDispersion,
    PayloadDispersion,
)
from ascentopt.studies.dispersions.scatter.wind import RandomWind, WindProfiles
from ascentopt.units import deg, km

THRUST = ThrustDispersion("lower", Normal(0.01))
ISP = IspDispersion("lower", Normal(0.004))
EVERYTHING: tuple[Dispersion, ...] = (
    THRUST,
    ISP,
    ThrustDispersion("upper", Normal(0.01)),
    IspDispersion("upper", TruncatedNormal(0.004)),
    DryMassDispersion("lower", Uniform(0.01)),
    PropellantDispersion("lower", Normal(0.002)),
    PayloadDispersion(Uniform(5.0)),
    DragDispersion(Normal(0.05)),
    DensityDispersion(Normal(0.03)),
    IgnitionDispersion("upper", Uniform(0.5)),
    SeparationDispersion("lower", Normal(0.3)),
    AlignmentDispersion(Normal(0.2 * deg)),
    RandomWind(
        altitude=[0.0, 12 * km, 30 * km], sigma=[3.0, 12.0, 8.0], correlation_length=3 * km
    ),
)
DENSITY = RandomDensity(altitude=[0.0, 40 * km], sigma=[0.02, 0.1], correlation_length=8 * km)
PROFILES = WindProfiles(
    [
        ao.Wind(altitude=[0.0, 9 * km], eastward=[5.0, east], northward=[0.0, north])
        for east, north in ((40.0, 3.0), (20.0, -8.0), (-5.0, 0.0))
    ]
)
