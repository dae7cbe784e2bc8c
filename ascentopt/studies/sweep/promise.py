"""Whether a neighbour's structure promises more at a point than what stands there."""

from __future__ import annotations

from collections.abc import Mapping

from ascentopt.baselines.input_partials import TOGETHER
from ascentopt.baselines.inputs import Input, is_number, is_same
from ascentopt.optimal.structure.search_by_moves import WORTH_A_BURN
from ascentopt.studies.sweep.answer import SweepAnswer


def promises(
    own: SweepAnswer, other: SweepAnswer, inputs: Mapping[str, Input], others: Mapping[str, Input]
) -> bool:
    """Whether a point should be solved again from a neighbour with another structure.

    From the neighbour on, by the mean of the partials of both, the propellant that its structure
    would use is foretold to second order as if the two were one. Where both are best at home and
    as good as each other that is what the point has; where the point's structure is worse than the
    neighbour's the point uses more. It must promise what a burn more has to be worth: what partials
    of both sides foretell is better than that on usual grids. Without partials of all that differs
    nobody knows, so it is solved.

    Args:
        own, other: of the point and its neighbour.
        inputs, others: numbers of their descriptions by their places.
    """
    change = _change(own, other, inputs, others)
    if not own.flies or change is None:
        return True
    foretold = _cost(other) + change
    return _cost(own) - foretold > WORTH_A_BURN * own.capacity


def _cost(answer: SweepAnswer) -> float:
    """Kg used; what no engine can be cut off for is carried as ballast, and saved all the same."""
    return (answer.propellant_used or 0.0) - (answer.ballast or 0.0)


def _change(
    own: SweepAnswer, other: SweepAnswer, inputs: Mapping[str, Input], others: Mapping[str, Input]
) -> float | None:
    """Kg more that the point uses than its neighbour; None where a partial is missing."""
    here, there = dict(own.slopes), dict(other.slopes)
    changed = {name for name in inputs if not is_same(inputs[name], others.get(name))}
    total = 0.0
    for key in here.keys() & there.keys():
        names = key.split(TOGETHER)
        before, after = others.get(names[0]), inputs.get(names[0])
        if changed.issuperset(names) and is_number(before) and is_number(after):
            total += 0.5 * (here[key] + there[key]) * (after - before)
            changed -= {*names}
    return None if changed else total
