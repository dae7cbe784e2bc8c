"""Fly a steering law: another integrator than the optimiser's, and no optimiser."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ascentopt.arguments import checked, is_ours
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.losses import LOSSES
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.guidance.arc_endings import Endings
from ascentopt.flight.guidance.ending import AfterDuration, Ending
from ascentopt.flight.guidance.law import SteeringLaw
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.results.budget import budget_of
from ascentopt.flight.results.events import events_of
from ascentopt.flight.results.failure import FlightError
from ascentopt.flight.results.flight import ArcEnd, Flight
from ascentopt.flight.results.judge import judged
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.flight.simulation.arc_flyer import FlightSetting, FlightSoFar, State, fly_arc
from ascentopt.flight.simulation.integrator import Tolerances
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.telling import meant
from ascentopt.typing import Floats

RELATIVE_TOLERANCE = 1e-11
"""Of a step. Rounding sets in at 1e-14; looser by a factor of a thousand is still a millimetre."""

# Beneath these an error of a step is not worth a smaller one: 1e-5 m, 1e-8 m/s, 1e-7 kg; the
# losses only have to close the budget.
_ABSOLUTE = (*(1e-5,) * 3, *(1e-8,) * 3, 1e-7, *(1e-5,) * len(LOSSES))

# m below the pad that count as having fallen: less is rounding, or an engine still building thrust.
_GIVE = 1.0


@checked
def fly(vehicle: Vehicle, mission: Mission, law: SteeringLaw) -> Flight:
    """Fly the vehicle from the site as the law says, through the burns and coasts of its plan.

    What comes back says first (`verdict`) whether that is the orbit which the mission asks for.

    Raises:
        InputError: when the plan does not fit, or the law leaves the end of an arc open.
        FlightError: when the flight does not end as it should; it carries the trajectory so far.
    """
    sequence = sequence_of(vehicle, mission, law.plan)
    _check_arcs(law, sequence)
    for arc in sequence.arcs:
        ending = law.ending(arc)
        if isinstance(ending, Ending):
            ending.check_around(mission.body)
    flown = simulate(sequence, law, fairing_heating=vehicle.max_heating)
    return judged(flown, vehicle, mission, sequence)


def _check_arcs(law: SteeringLaw, sequence: Sequence) -> None:
    """Refuse what a law of ours says of arcs that are not flown, or says twice of one.

    It would be left out without a word.
    """
    arcs = [arc.name for arc in sequence.arcs]
    for what in ("endings", "by_arc") if is_ours(law) else ():
        names = [name for name, _ in getattr(law, what, ())]
        owner = f"{type(law).__name__}: {what}"
        for name in names:
            if name not in arcs:
                fix = meant(name, arcs, "Name one of these.")
                raise InputError(
                    f"{owner} has one for {name!r}; it must be for an arc of the plan: "
                    f"{', '.join(map(repr, arcs))}. {fix}"
                )
            if names.count(name) > 1:
                raise InputError(
                    f"{owner} has {names.count(name)} for {name!r}; there must be one for an arc. "
                    "Leave the others out."
                )


def unfinished_flight(sequence: Sequence, failure: FlightError) -> Flight:
    """What there is of a flight that could not be finished; its budget is not known (nan)."""
    trajectory = failure.trajectory
    unknown = np.full(len(LOSSES), np.nan)
    start, end = sequence.initial_state(), trajectory.final_state
    body = sequence.arcs[0].kind.body
    return Flight(
        trajectory=trajectory,
        events=events_of(sequence, trajectory),
        budget=budget_of(body, start, end, unknown),
        ends=(ArcEnd(arc=failure.arc, ending=AfterDuration(failure.time), time=failure.time),),
    )


def simulate(
    sequence: Sequence,
    law: SteeringLaw,
    *,
    start_state: ArrayLike | None = None,
    start_time: float = 0.0,
    fairing_heating: float | None = None,
    relative_tolerance: float = RELATIVE_TOLERANCE,
) -> Flight:
    """Fly the arcs of a sequence.

    Args:
        sequence: what is lit and dropped when.
        law: where the thrust points, and when arcs end.
        start_state: (7,) to begin elsewhere than on the pad; `start_time` is the clock then, s.
        fairing_heating: W/m^2 below which the fairing goes where the law does not say when.
        relative_tolerance: of each step of the integrator.

    Raises:
        InputError: when neither law nor arc says when an arc ends.
        FlightError: when the flight does not end as it should; it carries the trajectory so far.
    """
    state = sequence.initial_state() if start_state is None else np.array(start_state, dtype=float)
    if state.shape != (7,) or not np.all(np.isfinite(state)):
        raise InputError(
            f"simulate: start_state is {state!r}; it must be 7 finite numbers. Give position in m, "
            "velocity in m/s and mass in kg."
        )
    setting = _setting(sequence, law, state, relative_tolerance)
    endings = Endings(sequence, law, fairing_heating)
    so_far = FlightSoFar()
    ends, losses = _all_arcs(setting, so_far, sequence, endings, (start_time, state))
    trajectory = Trajectory(arcs=tuple(so_far.arcs))
    name = "lift-off" if start_state is None else "start"
    return Flight(
        trajectory=trajectory,
        events=events_of(sequence, trajectory, start=name),
        budget=budget_of(setting.surroundings.body, state, trajectory.final_state, losses),
        ends=ends,
    )


def _setting(
    sequence: Sequence, law: SteeringLaw, state: Floats, relative_tolerance: float
) -> FlightSetting:
    surroundings = Surroundings(sequence.arcs[0].kind.body)
    level = min(surroundings.altitude(sequence.initial_state()), surroundings.altitude(state))
    return FlightSetting(
        law=law,
        surroundings=surroundings,
        site=sequence.position,
        ground=level - _GIVE,
        tolerances=Tolerances(relative=relative_tolerance, absolute=_ABSOLUTE),
    )


def _all_arcs(
    setting: FlightSetting, so_far: FlightSoFar, sequence: Sequence, endings: Endings, start: State
) -> tuple[tuple[ArcEnd, ...], Floats]:
    """Fly every arc; how each ended, and the losses (5)."""
    time, flown = start[0], np.concatenate([start[1], np.zeros(len(LOSSES))])
    begun: list[float] = []
    ends: list[ArcEnd] = []
    for index, arc in enumerate(sequence.arcs):
        begun.append(time)
        ending = endings.of(index, begun)
        time, flown = fly_arc(setting, so_far, arc, ending, (time, flown))
        ends.append(ArcEnd(arc=arc.name, ending=ending, time=time))
        flown = flown.copy()
        flown[MASS] = arc.joint.mass(float(flown[MASS]))
    return tuple(ends), flown[7:]
