"""Which constructor of atmospheres made one, and of what: found by making it again.

An atmosphere keeps its tables and not what they were made of. Logarithms and quotients are undone
here to a last digit or two, the numbers near that tried with few digits first, and kept if the
same atmosphere comes of them, to the last bit.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from math import exp, inf, nextafter
from typing import Any

import numpy as np

from ascentopt.descriptions.schema.forms import Form, forms_of
from ascentopt.errors import InputError, UnusualInputWarning
from ascentopt.world import Atmosphere, Body

_BITS = 3
"""Numbers on either side that are tried: an exponential and a quotient are good to half of one."""


def arguments_of_air(air: Atmosphere, body: Body | None) -> tuple[Form, dict[str, Any]] | None:
    """The form and its values that make the same air around its body; None where none does."""
    exponential, tabulated, *_ = forms_of(Atmosphere)
    beside = {"name": air.name, "wind": air.wind, "ceiling": air.ceiling,
              "heat_capacity_ratio": air.heat_capacity_ratio}  # fmt: skip
    ways: list[tuple[Form, dict[str, Any]]] = [(exponential, o) for o in _exponential(air, body)]
    ways += [(tabulated, own) for own in _tabulated(air)]
    for form, own in ways:
        known = {**own, **beside}
        values = {name: known[name] for name in form.fields if name in known}
        if _around(body, form, values) == air:
            return form, _without_own_name(form, values)
    return None


def _around(body: Body | None, form: Form, values: dict[str, Any]) -> Atmosphere | None:
    """The air, settled around the body that it is given to; None where there is none such."""
    try:
        air = _made(form, values)
    except (InputError, ArithmeticError):
        return None
    return air if body is None else air.under_gravity(body.surface_gravity)


def _made(form: Form, values: dict[str, Any]) -> Atmosphere:
    """What the constructor makes, in silence: whoever made the air was warned then."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnusualInputWarning)
        air: Atmosphere = form.made(values)
    return air


def _without_own_name(form: Form, values: dict[str, Any]) -> dict[str, Any]:
    """The name is left out where the constructor gives the same."""
    bare = {name: one for name, one in values.items() if name != "name"}
    return bare if _made(form, bare).name == values["name"] else values


def _exponential(air: Atmosphere, body: Body | None) -> Iterator[dict[str, float]]:
    """What may go into isothermal air, in equilibrium or not; nothing where it is none."""
    density, heat = air.log_density, air.temperature
    if heat is None or len(density.knots) != 1 or len(heat.knots) != 1 or not density.slopes[0]:
        return
    surface = _found(exp, density.values[0], np.log)
    scale = _found(lambda slope: -1.0 / slope, density.slopes[0], lambda height: -1.0 / height)
    if surface is None or scale is None:
        return
    own = {"surface_density": surface, "scale_height": scale}
    yield own
    warmth = heat.values[0]
    if body is not None:
        near = body.surface_gravity * scale / warmth
        yield from ({**own, "gas_constant": gas} for gas in _near(near))
    gas = _found(
        lambda logarithm: exp(logarithm) / surface / warmth,
        air.log_pressure.values[0],
        lambda constant: np.log(surface * (constant * warmth)),
    )
    if gas is not None:
        yield {**own, "surface_temperature": warmth, "gas_constant": gas}


def _tabulated(air: Atmosphere) -> Iterator[dict[str, Any]]:
    """The columns of a table; nothing where there was none."""
    heat = air.temperature
    if heat is None or heat.knots != air.log_density.knots or len(heat.knots) < 2:
        return
    density, pressure = (
        tuple(_found(exp, one, np.log) for one in table.values)
        for table in (air.log_density, air.log_pressure)
    )
    if None not in density and None not in pressure:
        own = {"altitude": heat.knots, "temperature": heat.values}
        yield {**own, "pressure": pressure, "density": density}


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
