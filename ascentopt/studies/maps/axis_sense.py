"""Angles of a map that are none: degrees, or the values of its other side."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

from ascentopt.errors import InputError
from ascentopt.rules.laws.open_number import Open
from ascentopt.studies.maps.axis import Axis

_SIDES = ("across", "upward")


def check_angles(axes: Sequence[Axis], opened: Sequence[Open]) -> None:
    """Refuse angles (rad, or rad/s) beyond pi, or beyond where the rule itself has them tuned.

    Args:
        axes: across and upward.
        opened: the rule's numbers that they are of.

    Raises:
        InputError: names the side, the value and the likely slip.
    """
    for here, other in ((0, 1), (1, 0)):
        most = _most(opened[here])
        beyond = [float(value) for value in axes[here].values if abs(value) > most]
        if not beyond:
            continue
        exchanged = all(abs(value) <= most for value in axes[other].values)
        slip = (
            f"It looks exchanged with {_SIDES[other]}, which is the {axes[other].name} in "
            f"{axes[other].unit or 'no unit'}: exchange the two."
            if exchanged and axes[other].unit != axes[here].unit
            else f"It looks like degrees: write {beyond[0]:g} * deg."
        )
        raise InputError(
            f"cost_map: {_SIDES[here]} holds {beyond[0]:g} {axes[here].unit} for the "
            f"{axes[here].name}; it must be at most {most:.6g} {axes[here].unit}. {slip}"
        )


def _most(one: Open) -> float:
    if one.unit not in ("rad", "rad/s"):
        return float("inf")
    return max(pi, abs(one.low), abs(one.high))
