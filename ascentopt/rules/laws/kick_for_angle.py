"""Which lean of the motion at an altitude a kick leads to, and which kick leads to a lean."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import takewhile
from math import asin, exp, log, pi

import numpy as np

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.guidance.ending import AfterDuration, AtAltitude, AtEmpty, Ending
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.numerics.root_bracket import Point, passes_zero
from ascentopt.rules.insertion.refusals import TooFlat, TooHigh
from ascentopt.rules.laws.habits import habitual_speed
from ascentopt.rules.laws.kick import kicked
from ascentopt.rules.laws.rule import Pad
from ascentopt.steering.programme import Phase, Programme
from ascentopt.steering.throttling import within
from ascentopt.units import deg

LEAST_KICK, MOST_KICK = 0.02 * deg, 60.0 * deg
FALLEN = pi  # rad: the lean of a flight that never gets there
_CLOSE = 1e-4  # rad
_SHARP = 1e-6  # of the logarithm of the kick
_LEAST_LEAN = 1e-6  # rad; less counts as that
_NO_DROP = 1e-9  # W/m^2; no fairing goes this low
_LAST_STEP = 1e-4
"""Of the logarithm of the kick: a step this short, by a slope that is right to a hundredth, ends
where `_SHARP` asks for."""

_MOST_STEPS = 4
_NEIGHBOURS = 4  # kicks through which a curve is drawn
_APART = 1e-3  # of the logarithm of the lean: no two of them are closer


class LeanAfterKick:
    """Lean of the motion in rad at an altitude after a kick, given its logarithm.

    Attributes:
        flown: leans by the logarithms of kicks.
    """

    def __init__(self, altitude: float, pad: Pad) -> None:
        self.altitude, self.pad = altitude, pad
        self.speed = habitual_speed(pad.mission.body)
        self.plan = FlightPlan(inserting_stage=max(arc.stage for arc in pad.sequence.arcs))
        law = self._law(LEAST_KICK)
        self.flight = CompiledFlight(pad.sequence, law, fairing_heating=_NO_DROP)
        self.last = _first_cut_off(pad.sequence.arcs)
        self.flown: dict[float, float] = {}

    def __call__(self, kick: float) -> float:
        """`FALLEN` for a flight that never gets there."""
        if kick not in self.flown:
            self.flown[kick] = self._fly(kick)
        return self.flown[kick]

    def _fly(self, kick: float) -> float:
        law = self._law(exp(kick))
        flight = self.flight.steered_by(law, last_phase=len(law.phases))
        try:
            there = flight.fly(flight.start(), self.last)
        except CompiledFlightError:
            return FALLEN
        if there.phase == len(law.phases):
            return _lean(flight, there)
        # A kick so slight that the motion never leans as far, since the spin of the body bends it.
        return 0.0 if flight.surroundings.altitude(there.state) > self.altitude else FALLEN

    def _law(self, kick: float) -> Programme:
        *before, last = kicked(self.speed, kick, self.pad)
        follow = Phase(formula=last.formula, until=AtAltitude(self.altitude))
        return Programme(
            plan=self.plan,
            steps=(*before, follow, last),
            endings=tuple(_endings(self.pad.sequence.arcs)),
            throttling=within(self.pad.mission.limits),
        )


class KickForLean:
    """Kicks that lead to leans at an altitude, each found from those before; not to be shared.

    Args:
        altitude: m.
    """

    def __init__(self, altitude: float) -> None:
        self.altitude = altitude
        self._known: list[LeanAfterKick] = []

    def __call__(self, lean: float, pad: Pad) -> float:
        """Angle of the kick in rad after which the motion leans so.

        Raises:
            CompiledFlightError: when no kick leads there; its kind says on which side.
        """
        leaning = self._leaning(pad)
        about = _extrapolated_kick(lean, self._known)
        kick = None if about is None else _by_newton(leaning, lean, about)
        return exp(_by_bracketing(leaning, lean) if kick is None else kick)

    def _leaning(self, pad: Pad) -> LeanAfterKick:
        for known in self._known:
            if known.pad.sequence is pad.sequence and known.pad.heading == pad.heading:
                return known
        self._known.append(LeanAfterKick(self.altitude, pad))
        return self._known[-1]


def _extrapolated_kick(lean: float, known: Iterable[LeanAfterKick]) -> tuple[float, float] | None:
    """Logarithm of the kick for a lean, and its slope; None where too little was flown.

    The lean grows about as the kick does, so the logarithms lie nearly on a line; towards which
    heading hardly matters.
    """
    wanted = log(lean)
    flown = [(log(v), k) for one in known for k, v in one.flown.items() if _LEAST_LEAN < v < FALLEN]
    chosen: list[tuple[float, float]] = []
    for one in sorted(flown, key=lambda one: abs(one[0] - wanted)):
        if all(abs(one[0] - other[0]) > _APART for other in chosen):
            chosen.append(one)
        if len(chosen) == _NEIGHBOURS:
            break
    if len(chosen) < 2:
        return None
    leans, kicks = np.array(chosen).T
    curve = np.polynomial.Polynomial.fit(leans, kicks, len(leans) - 1)
    return float(curve(wanted)), float(curve.deriv()(wanted))


def _by_newton(leaning: LeanAfterKick, lean: float, about: tuple[float, float]) -> float | None:
    """Newton's rule from about there, with the slope that is known; None where it leads nowhere."""
    kick, slope = about
    low, high = log(LEAST_KICK), log(MOST_KICK)
    for _ in range(_MOST_STEPS):
        if not low < kick < high:
            return None
        found = leaning(kick)
        if not _LEAST_LEAN < found < FALLEN:
            return None
        step = -slope * log(found / lean)
        kick += step
        if abs(step) < _LAST_STEP:
            return kick
    return None


def _by_bracketing(leaning: LeanAfterKick, lean: float) -> float:
    """Between a kick that leads to less and one that leads to more.

    Raises:
        CompiledFlightError: when there is none.
    """

    def excess(kick: float) -> float:
        return log(max(leaning(kick), _LEAST_LEAN) / lean)

    ends = log(LEAST_KICK), log(MOST_KICK)
    if excess(ends[0]) > 0.0:
        raise TooHigh(f"even the least kick leads to a lean beyond {lean / deg:.3g} deg there")
    if excess(ends[1]) < 0.0:
        raise TooFlat(f"no kick leads to a lean of {lean / deg:.3g} deg there")
    above = min(kick for kick in leaning.flown if excess(kick) >= 0.0)
    below = max(kick for kick in leaning.flown if kick < above)
    kick = passes_zero(excess, Point(below, excess(below)), Point(above, excess(above)), _SHARP)
    if abs(leaning(kick) - lean) > _CLOSE:
        raise TooFlat(f"a flight that leans by {lean / deg:.3g} deg there falls")
    return kick


def _first_cut_off(arcs: tuple[FlightArc, ...]) -> int:
    """Index of the arc that ends the first stage's first burn."""
    climbing = takewhile(lambda arc: arc.stage == 0 and arc.burning, arcs)
    return sum(1 for _ in climbing) - 1


def _endings(arcs: tuple[FlightArc, ...]) -> Iterator[tuple[str, Ending]]:
    """For arcs that do not know their own: a first stage burns all it has, the rest is not flown.

    A first stage that inserts, or is lit again, has arcs like that; another ends by itself.
    """
    last = _first_cut_off(arcs)
    if arcs[last].joint.mass_after is None:
        yield arcs[last].name, AtEmpty()
    for arc in arcs[last + 1 :]:
        yield arc.name, AfterDuration(0.0)


def _lean(flight: CompiledFlight, mark: Checkpoint) -> float:
    frame = flight.surroundings.at(mark.state)
    up, moving = np.array(frame[:3]), np.array(frame[9:12])
    return 0.5 * pi - asin(float(up @ moving) / float(np.linalg.norm(moving)))
