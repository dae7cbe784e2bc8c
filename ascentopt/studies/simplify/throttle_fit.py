"""The throttle of an optimal ascent as a few knots and an acceleration that is kept."""

from __future__ import annotations

import numpy as np

from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.steering.pitch_table import Against
from ascentopt.steering.throttling import ThrottleProgramme
from ascentopt.studies.simplify.knot_fit import PitchCurve, pitch_curve
from ascentopt.typing import Floats

Pairs = tuple[tuple[float, float], ...]
"""Abscissa and throttle of each knot."""

_KNOTS = 6  # down and a little back, along a limit that moves, and up again
_FULL = 0.995  # throttle that counts as full
_RAMP = 0.5
"""s that a ramp takes at least: the optimum jumps, and the compiled flight follows a ramp of 0.2 s
to a centimetre a second only."""
_HELD = 0.997  # part of the greatest acceleration from which on it is what throttles


def throttle_programme(ascent: Ascent, against: Against) -> ThrottleProgramme | None:
    """What the optimum does with the throttle; None where nothing can be throttled for a limit.

    Where it holds the greatest acceleration the programme does the same, whatever the clock says;
    elsewhere knots follow it.
    """
    arcs = sequence_of(ascent.vehicle, ascent.mission, ascent.plan).arcs
    steered = [arc for arc in arcs if arc.kind.throttled and arc.rise is None]
    if not steered:
        return None
    limit = ascent.mission.limits.axial_acceleration
    names = tuple(arc.name for arc in steered)
    track = Trajectory(arcs=tuple(a for a in ascent.trajectory.arcs if a.name in names))
    shares = _shares(track, limit)
    if shares.min() > _FULL:
        return None if limit is None else ThrottleProgramme(acceleration=limit)
    whole = pitch_curve(ascent, against, names)
    counted = track.time if against is Against.TIME else track.altitude
    places, weight = _spaced(whole, np.interp(whole.at, counted, track.time))
    curve = PitchCurve(
        against=against, at=places, pitch=np.interp(places, counted, shares), weight=weight
    )
    pairs = _told(curve.fitted(_KNOTS).pairs, min(arc.min_throttle for arc in steered))
    knots, throttles = zip(*pairs, strict=True)
    return ThrottleProgramme(
        against=against, abscissae=knots, throttles=throttles, acceleration=limit
    )


def _spaced(curve: PitchCurve, times: Floats) -> tuple[Floats, Floats]:
    """Abscissae a ramp or more apart, and what the samples about each weigh together."""
    slots = np.floor((times - times[0]) / _RAMP)
    firsts = np.flatnonzero(np.diff(slots, prepend=-1.0))
    middles = times[0] + (slots[firsts] + 0.5) * _RAMP
    return np.interp(middles, times, curve.at), np.add.reduceat(curve.weight, firsts)


def _told(pairs: Pairs, least: float) -> Pairs:
    """Knots within what the engine can do, without those that change nothing."""
    shares = [1.0 if share > _FULL else max(share, least) for _, share in pairs]
    places = [at for at, _ in pairs]
    kept = [0]
    for k in range(1, len(places)):
        ahead = shares[k + 1] if k + 1 < len(places) else shares[k]
        if max(abs(shares[k] - shares[kept[-1]]), abs(ahead - shares[k])) > 1.0 - _FULL:
            kept.append(k)
    return tuple((places[k], shares[k]) for k in kept)


def _shares(track: Trajectory, limit: float | None) -> Floats:
    """(k,) throttle, full where it is the acceleration that asks for less."""
    if limit is None:
        return track.throttle
    return np.where(track.axial_acceleration > _HELD * limit, 1.0, track.throttle)
