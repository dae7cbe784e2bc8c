"""How fast a vehicle is tipped over: by how much faster it becomes meanwhile."""

from __future__ import annotations

from functools import lru_cache

from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.phases.vertical_rise import engines_in_steps, pad_pressure, pad_weight
from ascentopt.mission import Mission
from ascentopt.rules.laws.habits import KICK_SPEED, habitual_speed
from ascentopt.rules.laws.rule import Pad
from ascentopt.units import deg

CALM_RATE = 2.0 * deg
"""rad/s of the tip-over of an ordinary launcher on Earth (common practice, no source)."""

_CALM_GAIN = 3.0
"""m/s^2 that it gains as it leaves the pad, with 1.3 times its weight (common practice)."""


def tip_over_rate(pad: Pad) -> float:
    """In rad/s: by each degree the speed grows by the same part of the habitual kick's.

    A tip-over at the rate w opens an angle to the motion as long as w v is more than what gravity
    turns by; what the air makes of that grows with the square of v. So a vehicle that is brisk for
    the speed at which it is tipped over has to be tipped over before it is fast: w v / gain, which
    has no dimension, is that of an ordinary launcher on Earth. None is tipped over more slowly than
    that, or faster than the mission's limit on the pitch rate allows.
    """
    return _rate(pad.mission, pad.sequence)


@lru_cache(maxsize=64)
def _rate(mission: Mission, sequence: Sequence) -> float:
    thrust, _ = next(engines_in_steps(sequence.arcs[0], 0.0, pad_pressure(mission)))
    gain = thrust / sequence.mass - pad_weight(mission)
    brisk = gain / _CALM_GAIN * KICK_SPEED / habitual_speed(mission.body)
    rate, limit = CALM_RATE * max(1.0, brisk), mission.limits.pitch_rate
    return rate if limit is None else min(rate, limit)
