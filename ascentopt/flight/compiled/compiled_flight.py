"""Compiled flight: the same arcs, endings and phases as `simulate`, a hundred times as fast.

It keeps states at the ends of arcs and the peaks of the loads, not a trajectory, and may start
again from any arc's start, so that what comes before need not be flown twice.
"""

from __future__ import annotations

from copy import copy
from dataclasses import replace

from ascentopt.flight.compiled.arc_flight import FALLEN_BELOW, ArcFlight
from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.computed_step import Asked
from ascentopt.flight.compiled.load_log import LoadLog
from ascentopt.flight.compiled.stepper import Stepper
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.guidance.arc_endings import Endings
from ascentopt.flight.guidance.direction import Formula, FormulaKey
from ascentopt.flight.guidance.law import SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.typing import Floats


class CompiledFlight:
    """Flies a sequence as a law with formulas says; not to be shared by threads.

    Args:
        sequence: what is lit and dropped when.
        law: gives a formula for every phase.
        fairing_heating: W/m^2 below which the fairing goes where the law does not say when.
        log: to which every step is added.
        slack: how many times the usual error of a step is tolerated.
        last_phase: phase of the law with whose beginning the flight stops, in the midst of an arc.
        allowed_debt: kg that arcs which end by a state may burn beyond what is aboard: it is
            then no flight, but its debt says smoothly by how much the vehicle is too small.
    """

    def __init__(
        self,
        sequence: Sequence,
        law: SteeringLaw,
        *,
        fairing_heating: float | None = None,
        allowed_debt: float = 0.0,
        last_phase: int | None = None,
        log: LoadLog | None = None,
        slack: float = 1.0,
    ) -> None:
        self.log, self.slack = log, slack
        self.sequence, self.law, self.allowed_debt = sequence, law, allowed_debt
        self.last_phase = len(law.phases) + 1 if last_phase is None else last_phase
        self.surroundings = Surroundings(sequence.arcs[0].kind.body)
        self.endings = Endings(sequence, law, fairing_heating)
        self.ground = self.surroundings.altitude(sequence.initial_state()) - FALLEN_BELOW
        self._steppers: dict[tuple[str, FormulaKey | None], Stepper] = {}

    def steered_by(self, law: SteeringLaw, last_phase: int | None = None) -> CompiledFlight:
        """The same flight under another law; the two must not fly at the same time."""
        other = copy(self)
        other.law = law
        other.last_phase = len(law.phases) + 1 if last_phase is None else last_phase
        other.endings = self.endings.under(law)
        return other

    def stepper(self, arc: FlightArc, formula: Formula | None, phase: int = 0) -> Stepper:
        """Steps along an arc as a formula says in a phase of the law."""
        key = arc.name, None if formula is None else formula.key
        ask = self._asking(arc, formula, phase)
        if key not in self._steppers:
            self._steppers[key] = Stepper(arc.kind, arc.numbers, formula, ask, self.slack)
        stepper = self._steppers[key]
        stepper.set_formula(formula, ask)
        return stepper

    def _asking(self, arc: FlightArc, formula: Formula | None, phase: int) -> Asked | None:
        """Who says the direction; None where the formula does. Below the ground it is up."""
        computed = None if formula is None else formula.computed
        if computed is None:
            return None

        def ask(clocks: Floats, state: Floats) -> tuple[float, float, float]:
            time, elapsed, phase_time = clocks.tolist()
            clock = time, elapsed, phase_time
            now = Moment(arc, self.surroundings, clock, phase, state)
            return now.inertial(1.0, 0.0, 0.0) if now.altitude < self.ground else computed(now)

        return ask

    def start(self) -> Checkpoint:
        """The mark on the pad."""
        return Checkpoint(time=0.0, state=self.sequence.initial_state())

    def fly(self, mark: Checkpoint, last: int | None = None) -> Checkpoint:
        """Fly from a mark through the arc with index `last`, by default to the end.

        Raises:
            CompiledFlightError: when the flight cannot go on.
        """
        end = len(self.sequence.arcs) if last is None else last + 1
        while len(mark.begun) < end and mark.phase < self.last_phase:
            mark = self.fly_arc(mark)
        return mark

    def fly_arcs(self, mark: Checkpoint, count: int) -> tuple[Checkpoint, ...]:
        """A mark, and the ends of the arcs from there on, until so many are flown in all.

        Raises:
            CompiledFlightError: when the flight cannot go on.
        """
        marks = [mark]
        while len(marks[-1].begun) < count:
            marks.append(self.fly_arc(marks[-1]))
        return tuple(marks)

    def fly_arc(self, mark: Checkpoint, place: Checkpoint | None = None) -> Checkpoint:
        """Fly the next arc, and its joint; from a place on it, where one is given."""
        flown = ArcFlight(self, mark).fly(place)
        if flown.phase >= self.last_phase:
            return flown
        state = flown.state.copy()
        state[MASS] = self.sequence.arcs[len(mark.begun)].joint.mass(float(state[MASS]))
        begun = (*mark.begun, mark.time)
        return replace(flown, state=state, begun=begun, mass_before=flown.mass)
