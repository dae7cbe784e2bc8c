"""Scenarios drawn at random, of everything that a description can say."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import exp, pi
from typing import Any

from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.units import km


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Of any digits, and such as people write."""
    whole = st.integers(min_value=int(-(-low // 1)), max_value=int(high))
    return st.floats(low, high) | (whole.map(float) if high - low > 2.0 else st.nothing())


def maybe(one: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | one


LETTERS = st.characters(exclude_categories=["Cs"])
NAMES = st.text(LETTERS, min_size=1, max_size=12).filter(lambda text: bool(text.strip()))
ANGLES = numbers(-2 * pi, 2 * pi)


def rising(low: float, high: float, least: int = 2) -> st.SearchStrategy[tuple[float, ...]]:
    """Numbers in rising order, no two of them close."""
    spread = st.lists(numbers(low, high), min_size=least, max_size=6, unique=True)
    return spread.map(lambda found: tuple(sorted(found))).filter(
        lambda found: all(b - a > 1e-3 * (high - low) for a, b in pairwise(found))
    )


def columns(
    first: st.SearchStrategy[tuple[float, ...]], *others: st.SearchStrategy[float]
) -> st.SearchStrategy[tuple[tuple[float, ...], ...]]:
    """Columns of one length beside the first."""
    return first.flatmap(
        lambda x: st.tuples(st.just(x), *(st.tuples(*(y for _ in x)) for y in others))
    )


@st.composite
def engines(draw: st.DrawFn, mass: float) -> ao.Engine:
    """Such as give a stage of some mass 10 to 50 m/s^2."""
    thrust, isp = mass * draw(numbers(10.0, 50.0)), draw(numbers(200.0, 460.0))
    loss = draw(st.sampled_from(["sea_level_isp", "sea_level_thrust", "exit_area", "nothing"]))
    full = {"sea_level_isp": isp, "sea_level_thrust": thrust, "exit_area": thrust / 1e6}
    own = {} if loss == "nothing" else {loss: full[loss] * draw(st.floats(0.5, 1.0))}
    return ao.Engine(
        vacuum_thrust=thrust, vacuum_isp=isp, min_throttle=draw(st.floats(0.1, 1.0)), **own
    )


@st.composite
def motors(draw: st.DrawFn) -> ao.SolidMotor:
    times, thrusts = draw(columns(rising(20.0, 90.0), numbers(1e5, 1e6)))
    return ao.SolidMotor(
        time=(0.0, *times),
        vacuum_thrust=(draw(numbers(1e5, 1e6)), *thrusts),
        vacuum_isp=draw(numbers(200.0, 300.0)),
        exit_area=draw(maybe(numbers(0.0, 0.1))),
    )


@st.composite
def stages(draw: st.DrawFn, name: str) -> ao.Stage:
    mass = draw(numbers(1e3, 5e5))
    engine = draw(engines(mass) | motors())
    solid = isinstance(engine, ao.SolidMotor)
    if isinstance(engine, ao.SolidMotor):
        mass = engine.propellant_mass * draw(st.floats(0.996, 1.004))
    return ao.Stage(
        name=name,
        propellant_mass=mass,
        dry_mass=mass * draw(numbers(0.04, 0.6)),
        engine=engine,
        restarts=0 if solid else draw(st.integers(0, 3)),
        ignition_delay=draw(numbers(0.0, 9.0)),
    )


@st.composite
def boosters(draw: st.DrawFn, core: ao.Stage) -> ao.BoosterGroup:
    """Such as do not outlast the core."""
    engine = draw(engines(core.mass))
    mass = engine.mass_flow * core.burn_time * draw(st.floats(0.1, 0.9))
    return ao.BoosterGroup(
        name="beside",
        count=draw(st.integers(1, 6)),
        propellant_mass=mass,
        dry_mass=mass * draw(numbers(0.04, 0.6)),
        engine=engine,
    )


@st.composite
def vehicles(draw: st.DrawFn) -> ao.Vehicle:
    names = draw(
        st.lists(NAMES.filter(lambda name: name != "beside"), min_size=1, max_size=3, unique=True)
    )
    stack = tuple(draw(stages(name)) for name in names)
    curve = columns(rising(0.0, 9.0), numbers(0.0, 2.0)).map(
        lambda found: ao.DragCurve(mach=found[0], cd=found[1])
    )
    air = st.builds(
        ao.Aerodynamics,
        reference_area=numbers(0.01, 90.0),
        drag_coefficient=numbers(0.0, 2.0) | curve,
        normal_force_slope=numbers(0.0, 9.0),
    )
    fairing = st.builds(ao.Fairing, mass=numbers(1.0, 1e4), max_heating=numbers(1.0, 1e5))
    return ao.Vehicle(
        name=draw(NAMES),
        payload_mass=draw(numbers(0.0, 2e4)),
        stages=stack,
        boosters=draw(st.just(()) | boosters(stack[0]).map(lambda one: (one,))),
        fairing=draw(maybe(fairing)),
        aerodynamics=draw(maybe(air)),
    )


WINDS = columns(
    rising(0.0, 4e4).map(lambda found: (*found, 5e4)), numbers(-90.0, 90.0), numbers(-90.0, 90.0)
).map(lambda found: ao.Wind(altitude=found[0], eastward=found[1], northward=found[2]))


@st.composite
def atmospheres(draw: st.DrawFn) -> ao.Atmosphere:
    """Of each constructor, with and without a wind, and some that no constructor makes."""
    ceiling = draw(numbers(60 * km, 120 * km))
    warmth, gas = draw(numbers(150.0, 400.0)), draw(numbers(150.0, 600.0))
    kind = draw(st.sampled_from(["standard", "exponential", "at rest", "tabulated", "own"]))
    if kind == "standard":
        air = ao.Atmosphere.standard_1976(ceiling=ceiling)
    elif kind == "tabulated":
        heights = rising(0.0, 3e4).map(lambda found: (-500.0, *found, 5e4))
        x, temperature = draw(columns(heights, numbers(150.0, 400.0)))
        surface = draw(numbers(10.0, 1e6))
        pressure = [surface * exp(-height / 8e3) for height in x]
        pairs = zip(pressure, temperature, strict=True)
        air = ao.Atmosphere.tabulated(
            altitude=x,
            temperature=temperature,
            pressure=pressure,
            density=[one / (gas * other) for one, other in pairs],
            ceiling=ceiling,
        )
    elif kind == "at rest":
        air = ao.Atmosphere.exponential(
            surface_density=draw(numbers(1e-3, 9.0)),
            scale_height=draw(numbers(4e3, 1.2e4)),
            ceiling=ceiling,
            gas_constant=draw(maybe(st.just(gas))),
        )
    else:
        air = ao.Atmosphere.exponential(
            surface_density=draw(numbers(1e-3, 9.0)),
            scale_height=draw(numbers(4e3, 1.2e4)),
            ceiling=ceiling,
            surface_temperature=warmth,
            gas_constant=gas,
        )
        air = air if kind == "exponential" else replace(air, temperature=None)
    name = draw(maybe(NAMES))
    return replace(air, wind=draw(maybe(WINDS)), **({} if name is None else {"name": name}))


@st.composite
def bodies(draw: st.DrawFn) -> ao.Body:
    known = draw(st.sampled_from([ao.earth(), ao.mars(), ao.moon()]))
    if draw(st.booleans()):
        return (
            replace(known, atmosphere=draw(maybe(atmospheres()))) if draw(st.booleans()) else known
        )
    gravity, radius = draw(numbers(2.0, 30.0)), draw(numbers(3e5, 9e6))
    return ao.Body(
        name=draw(NAMES),
        gravitational_parameter=gravity * radius**2,
        radius=radius,
        rotation_rate=draw(st.floats(-1e-5, 1e-5)),
        atmosphere=draw(maybe(atmospheres())),
        j2=draw(st.floats(-0.1, 0.1)),
        flattening=draw(st.floats(0.0, 0.2)),
    )


@st.composite
def orbits(draw: st.DrawFn, floor: float) -> ao.CircularOrbit | ao.EllipticalOrbit:
    inclination = draw(maybe(st.floats(0.01, pi - 0.01)))
    plane = {"inclination": inclination, "ascending_node": draw(maybe(ANGLES))}
    low = floor + 1e3 + draw(numbers(0.0, 1e6))
    if draw(st.booleans()):
        return ao.CircularOrbit(altitude=low, **plane)
    if draw(st.booleans()):
        return ao.EllipticalOrbit(
            periapsis_altitude=low,
            apoapsis_altitude=low + draw(numbers(1.0, 1e7)),
            argument_of_periapsis=draw(maybe(ANGLES)),
            **plane,
        )
    return ao.EllipticalOrbit(
        semi_major_axis=9e7 + low, eccentricity=draw(st.floats(0.01, 0.5)), **plane
    )


@st.composite
def missions(draw: st.DrawFn) -> ao.Mission:
    body = draw(bodies())
    floor = body.atmosphere.ceiling if body.atmosphere is not None else 0.0
    mass = st.builds(ao.PropellantReserve, mass=numbers(1.0, 1e4))
    down = st.builds(
        ao.DeorbitReserve,
        periapsis_altitude=numbers(-1e5, -1.0),
        with_payload=st.booleans(),
        allowance=st.floats(0.0, 0.5),
    )
    limits = st.builds(
        ao.FlightLimits,
        dynamic_pressure=maybe(numbers(1e3, 1e5)),
        staging_dynamic_pressure=maybe(numbers(1e3, 1e5)),
        angle_of_attack=maybe(st.floats(0.01, 0.7)),
        q_alpha=maybe(numbers(10.0, 1e4)),
        axial_acceleration=maybe(numbers(40.0, 90.0)),
        pitch_rate=maybe(st.floats(1e-3, 1.0)),
    )
    site = ao.LaunchSite(
        latitude=draw(st.floats(-pi / 2, pi / 2)),
        longitude=draw(ANGLES),
        altitude=draw(numbers(0.0, 500.0)),
        name=draw(st.text(LETTERS, max_size=9)),
    )
    return ao.Mission(
        body=body,
        site=site,
        orbit=draw(orbits(floor)),
        limits=draw(limits),
        vertical_rise=draw(maybe(numbers(1.0, 400.0))),
        reserve=draw(maybe(mass | down)),
        lift_off_time=draw(maybe(numbers(-1e5, 1e5))),
    )


SCENARIOS = st.builds(ao.Scenario, name=NAMES, vehicle=vehicles(), mission=missions())
