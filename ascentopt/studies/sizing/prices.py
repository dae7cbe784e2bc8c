"""What each number of a sized vehicle is worth: slopes put into payload, cost and prices."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, nan

from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.free import FreePayload
from ascentopt.studies.sizing.flown import FlownDesign
from ascentopt.studies.sizing.sized_number import SizedNumber


@dataclass(frozen=True, kw_only=True, eq=False)
class Prices:
    """The numbers of a design with their prices.

    Attributes:
        numbers: those that are free by the user's word; a payload that is sought is not one.
        exchange: kg of payload for one unit of cost, which all that no bound holds have in common;
            nan where nothing that costs is free, or where nothing is known of it yet; inf where the
            bounds leave more than is needed.
        objective_slope: what one kg more of payload costs where that is least; how much payload one
            more of the budget brings where that is sought; nan where nothing is known of it.
    """

    numbers: tuple[SizedNumber, ...]
    exchange: float
    objective_slope: float

    @classmethod
    def of(cls, design: DesignSpace, flown: FlownDesign, close: float) -> Prices:
        """Of a design that was flown: the conditions of its optimum, solved for the multiplier.

        ``close`` is how many kg left are next to nothing. Where more is left, as the bounds allow
        nothing lighter, payload is there for nothing; where they do, it is no optimum, and nothing
        is known.
        """
        bare = tuple(_number(design, flown, k) for k in range(len(design.free)))
        more = flown.margin > close and not design.seeks_payload
        exchange = _of_more(bare) if more else _common(bare)
        slope = _objective_slope(design, exchange)
        priced = tuple(replace(one, price=_price(design, one, exchange, slope)) for one in bare)
        return cls(numbers=priced, exchange=exchange, objective_slope=slope)


def _number(design: DesignSpace, flown: FlownDesign, k: int) -> SizedNumber:
    one = design.free[k]
    return SizedNumber(
        quantity=one.quantity,
        unit=one.unit,
        least=one.least,
        most=one.most,
        given=one.value_in(design.vehicle),
        value=float(flown.values[k]),
        payload=float(flown.slopes[k] / -flown.payload_slope),
        cost=float(design.cost_slopes[k]),
        price=nan,
    )


def _of_more(numbers: tuple[SizedNumber, ...]) -> float:
    """Where more is left than is needed."""
    return nan if any(one.is_free and one.cost for one in numbers) else inf


def _common(numbers: tuple[SizedNumber, ...]) -> float:
    """The exchange of the free numbers: least squares, each as it weighs in the cost."""
    free = [one for one in numbers if one.is_free and one.cost]
    spent = sum((one.cost * one.value) ** 2 for one in free)
    bought = sum(one.payload * one.cost * one.value**2 for one in free)
    return bought / spent if spent else nan


def _payload_cost(design: DesignSpace) -> float:
    """What one kg of payload itself adds to the cost."""
    if not design.counts_mass:
        return 0.0
    sought = any(isinstance(one, FreePayload) for one in design.unknowns)
    return float(design.cost_slopes[-1]) if sought else 1.0


def _objective_slope(design: DesignSpace, exchange: float) -> float:
    own = _payload_cost(design)
    if not design.seeks_payload:
        return own + 1.0 / exchange if exchange else nan
    return exchange / (1.0 + own * exchange)


def _price(design: DesignSpace, one: SizedNumber, exchange: float, slope: float) -> float:
    """Change of the objective for one unit more, the budget or the payload kept by the rest."""
    if not design.seeks_payload:
        return one.cost - one.payload / exchange if exchange else nan
    if design.budget is None:
        return one.payload
    return one.payload - slope * (one.cost + _payload_cost(design) * one.payload)
