"""Which constructor of atmospheres made one, and of what: found by making it again.

An atmosphere keeps its tables and not what they were made of. Logarithms and quotients are undone
here to a last digit or two, the numbers near that tried with few digits first, and kept if the
same atmosphere comes of them, to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import exp, inf, nextafter
from typing import Any

import numpy as np

from ascentopt.descriptions.schema.forms import Form, forms_of
from ascentopt.errors import InputError
from ascentopt.world import Atmosphere

_BITS = 3
"""Numbers on either side that are tried: an exponential and a quotient are good to half of one."""


def arguments_of_air(air: Atmosphere) -> tuple[Form, dict[str, Any]] | None:
    """The form and its values that make the same air; None where no constructor does."""
    exponential, tabulated, _ = forms_of(Atmosphere)
    beside = {"name": air.name, "wind": air.wind, "ceiling": air.ceiling,
              "heat_capacity_ratio": air.heat_capacity_ratio}  # fmt: skip
    for form, own in ((exponential, _exponential(air)), (tabulated, _tabulated(air))):
        if own is None:
            continue
        known = {**own, **beside}
        values = {name: known[name] for name in form.fields if name in known}
        if _makes(form, values, air):
            return form, _without_own_name(form, values)
    return None


def _makes(form: Form, values: dict[str, Any], air: Atmosphere) -> bool:
    try:
        return bool(form.made(values) == air)
    except (InputError, ArithmeticError):
        return False


def _without_own_name(form: Form, values: dict[str, Any]) -> dict[str, Any]:
    """The name is left out where the constructor gives the same."""
    bare = {name: one for name, one in values.items() if name != "name"}
    return bare if form.made(bare).name == values["name"] else values


def _exponential(air: Atmosphere) -> dict[str, float] | None:
    """What goes into isothermal air; None where it is none."""
    density, heat = air.log_density, air.temperature
    if heat is None or len(density.knots) != 1 or len(heat.knots) != 1 or not density.slopes[0]:
        return None
    warmth = heat.values[0]
    surface = _found(exp, density.values[0], np.log)
    scale = _found(lambda slope: -1.0 / slope, density.slopes[0], lambda height: -1.0 / height)
    if surface is None or scale is None:
        return None
    gas = _found(
        lambda logarithm: exp(logarithm) / surface / warmth,
        air.log_pressure.values[0],
        lambda constant: np.log(surface * constant * warmth),
    )
    if gas is None:
        return None
    return {
        "surface_density": surface, "scale_height": scale, "surface_temperature": warmth,
        "gas_constant": gas,
    }  # fmt: skip


def _tabulated(air: Atmosphere) -> dict[str, tuple[float, ...]] | None:
    """The columns of a table; None where there was none."""
    heat = air.temperature
    if heat is None or heat.knots != air.log_density.knots or len(heat.knots) < 2:
        return None
    density, pressure = (
        [_found(exp, one, np.log) for one in table.values]
        for table in (air.log_density, air.log_pressure)
    )
    if None in density or None in pressure:
        return None
    return {
        "altitude": heat.knots,
        "temperature": heat.values,
        "pressure": tuple(one for one in pressure if one is not None),
        "density": tuple(one for one in density if one is not None),
    }


def _found(
    undo: Callable[[float], float], value: float, do: Callable[[float], Any]
) -> float | None:
    """The number of fewest digits of which ``do`` makes the value; None where none is near."""
    try:
        near = undo(value)
    except ArithmeticError:
        return None
    return next((one for one in _near(near) if one > 0.0 and float(do(one)) == value), None)


def _near(value: float) -> Iterator[float]:
    yield from (float(f"{value:.{digits}g}") for digits in range(1, 18))
    for end in (-inf, inf):
        other = value
        for _ in range(_BITS):
            other = nextafter(other, end)
            yield other
