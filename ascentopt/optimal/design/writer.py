"""Puts what changes with a design's variables into the problem of its vehicle as it is."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np

from ascentopt.collocation import Arc, Bounds, Condition, Objective, Problem, Quantity, Span
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.hold_down import seconds_held
from ascentopt.flight.phases.vertical_rise import pad_gravity
from ascentopt.optimal.bounds.lift_off import pad_thrust
from ascentopt.optimal.design.burns import Burns
from ascentopt.optimal.design.expressions import More, WeightAtLiftOff
from ascentopt.optimal.design.family import Frame, Variant
from ascentopt.optimal.design.ledger import Ledger
from ascentopt.optimal.design.linear_numbers import Linear
from ascentopt.optimal.problem.linkage import WEIGHTS
from ascentopt.optimal.problem.phase_model import Varied
from ascentopt.optimal.problem.transcription import EXCESS_PRICE, LEAST_MASS_SHARE
from ascentopt.typing import Floats

THRUST_AT_LIFT_OFF = "thrust less weight at lift-off"
"""Of the vehicle on its pad, N."""

LIFTS = 1e-6
"""Share of its weight by which the thrust exceeds it, lest the solver's tolerance decide whether
the vehicle is one that lifts off."""


class Writer:
    """Of one frame's problem."""

    def __init__(self, frame: Frame) -> None:
        self.frame, self.ledger = frame, Ledger(frame)
        self.burns = Burns(frame, self.ledger)

    def written(self) -> Problem:
        """The problem, its variables the last of the free numbers."""
        base, own = self.frame.problem, self.frame.design.variables
        given = [self._condition(k) for k in range(len(base.conditions))]
        conditions = (*given, *self.burns.conditions(), *self._lift_off())
        objective, values = self._objective()
        bounds = base.free_bounds
        return replace(
            base,
            arcs=tuple(self._arc(k) for k in range(len(base.arcs))),
            spans=tuple(self._span(k) for k in range(len(base.spans))),
            conditions=conditions,
            objective=objective,
            free=(*base.free, *self._variables()),
            free_bounds=Bounds(
                lower=(*bounds.lower, *(one.lower for one in own)),
                upper=(*bounds.upper, *(one.upper for one in own)),
            ),
            parameters=(*base.parameters, *self.ledger.names),
            parameter_values=(*values, *self.ledger.values),
        )

    @property
    def _sizes(self) -> Floats:
        return self.frame.design.scales(self.frame.vehicle)

    def _variables(self) -> tuple[Quantity, ...]:
        pairs = zip(self.frame.design.variables, self._sizes, strict=True)
        return tuple(Quantity(one.name, one.unit, float(size)) for one, size in pairs)

    def _objective(self) -> tuple[Objective, tuple[float, ...]]:
        """The aim, with the weights that it makes of the base's, or the missing speed as it is."""
        base, aim = self.frame.problem.objective, self.frame.design.aim
        values = self.frame.problem.parameter_values
        if values[WEIGHTS][1] != 0.0:
            slopes = self.ledger.slopes("worth", np.zeros((1, len(aim.worth))))
            return replace(base, expression=More(base.expression, slopes)), values
        quantity = aim.quantity(self._sizes, base.quantity.scale)
        weights = aim.left_over, 0.0, aim.sign * EXCESS_PRICE * quantity.scale
        slopes = self.ledger.slopes("worth", np.array([aim.worth]))
        expression = More(base.expression, slopes)
        objective = Objective(quantity=quantity, expression=expression, maximise=aim.maximise)
        return objective, (*values[: WEIGHTS.start], *weights, *values[WEIGHTS.stop :])

    def _condition(self, k: int) -> Condition:
        """A condition whose bounds may change."""
        own = self.frame.problem.conditions[k]
        what = ", ".join(q.name for q in own.quantities)
        lower, upper = self._bounds(what, k, "lower"), self._bounds(what, k, "upper")
        if not (lower.varies or upper.varies):
            return own
        slopes = np.where(np.isfinite(upper.constant)[:, None], upper.slopes, lower.slopes)
        kept = np.zeros(len(own.quantities))
        if self.frame.sequence.ballasted and k == 0:
            kept[MASS] = self.frame.kept  # lift-off is the first of all conditions
        return replace(
            own,
            expression=self.ledger.less(what, own.expression, Linear(upper.constant, slopes)),
            bounds=Bounds(lower=tuple(lower.constant + kept), upper=tuple(upper.constant)),
        )

    def _bounds(self, what: str, k: int, side: str) -> Linear:
        def bounds(one: Variant) -> Floats:
            return np.array(getattr(one.problem.conditions[k].bounds, side))

        return self.frame.family.linear(what, bounds)

    def _span(self, k: int) -> Span:
        one = self.frame.problem.spans[k]
        low, high = self.burns.bounds((one.first, one.last), one.shortest, one.longest)
        return replace(one, shortest=low, longest=high)

    def _arc(self, k: int) -> Arc:
        """An arc whose numbers, floor and length may change."""
        base = self.frame.problem.arcs[k]
        own = replace(
            base,
            duration=self.burns.bounds((k, k + 1), *base.duration),
            state_bounds=self._state_bounds(k),
        )

        def given(one: Variant) -> Floats:
            return np.array(one.problem.arcs[k].parameters)

        numbers = self.frame.family.linear(f"what burns on {own.name}", given)
        if not numbers.varies:
            return own
        rows, columns = np.nonzero(numbers.slopes)
        names = self.frame.design.names
        varied: Varied = tuple((int(j), names[i]) for j, i in zip(rows, columns, strict=True))
        return replace(
            own,
            model=self.frame.model(k, varied),
            parameters=(*numbers.constant, *numbers.slopes[rows, columns]),
        )

    def _state_bounds(self, k: int) -> Bounds | None:
        """The floor of the mass: what no vehicle between the bounds is below, where it changes."""
        bounds, least = self.frame.problem.arcs[k].state_bounds, self.burns.least_masses[k]
        if bounds is None or not least.varies:
            return bounds
        own = self.frame.design.variables
        low, high = np.array([one.lower for one in own]), np.array([one.upper for one in own])
        lower = list(bounds.lower)
        lower[MASS] = LEAST_MASS_SHARE * float(least.least(low, high)[0])
        return replace(bounds, lower=tuple(lower))

    def _lift_off(self) -> tuple[Condition, ...]:
        """Thrust above weight, of a vehicle that is not held on the pad until it is."""
        vehicle, mission = self.frame.vehicle, self.frame.mission
        if seconds_held(vehicle, mission) != 0.0:
            return ()

        def thrust(one: Variant) -> Floats:
            return np.array([pad_thrust(one.vehicle, mission)])

        linear = self.frame.family.linear(THRUST_AT_LIFT_OFF, thrust)
        place = self.ledger.number("gravity at the pad", (1.0 + LIFTS) * pad_gravity(mission))
        size = float(thrust(self.frame.family.own)[0])
        return (
            Condition(
                quantities=(Quantity(THRUST_AT_LIFT_OFF, "N", size),),
                expression=self.ledger.more(THRUST_AT_LIFT_OFF, WeightAtLiftOff(place), linear),
                bounds=Bounds(lower=(-float(linear.constant[0]),), upper=(inf,)),
            ),
        )
