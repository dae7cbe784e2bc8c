"""Every call of the public face with arguments that are right, to be spoilt one at a time.

Left out, with the reason: methods that a base class declares (`Ending.value`, `Rule.steps`,
`SteeringLaw.command` ...), which the library itself asks; `Moment`, `View` and what is made of
them, which only it makes; exceptions; files, which have tests of their own.
"""

from __future__ import annotations

import inspect
import typing
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from types import SimpleNamespace
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.units import deg, km, kN

RESULTS = frozenset(
    {
        *("Ascent", "Comparison", "CostMap", "Deorbit", "Diagnosis", "Flight", "MaxPayload"),
        *("NoPartial", "Partial", "Partials", "Relief", "RuleOutcome", "SimplerProgramme"),
        *("DispersedFlights", "DispersionReserve", "FirstOrder", "Importance", "Influence"),
        *("LoadShare", "LoadShares", "RobustProgramme"),
        "Holder",
        *("SizedNumber", "Sizing"),
        *("Valley", "Verdict", "Verification", "BaselineCase", "BaselineCheck", "InputChange"),
        *("Sweep", "SweepAnswer"),
    }
)
"""Numbers in these may be unknown or without end."""

NOT_CALLED = frozenset(
    {
        "PadAxis",
        *("Against", "Arrival", "Ending", "Formula", "HeadedMoment", "HeadedView", "Insertion"),
        *("InfeasibleAscent", "InputError", "Interrupted", "OutOfTime", "FlightError"),
        *("HeldBy", "Holder"),  # as results make them
        *("TooFlat", "TooHigh", "UnusualInputWarning", "Moment", "Pad", "Rule", "View"),
        *("SimplerCurve", "Table"),  # as results make them
        "PointOutcome",  # as results have it
        *("Progress", "ProgressBar", "Step"),  # an alias; a stream; as studies make them
        *("read", "write"),  # files
        *("earth", "mars", "moon", "report", "scenarios"),
    }
)
"""Names that nobody calls with arguments of his own."""

FILES = frozenset(
    {"read", "write", "save", "load", "to_csv", "to_dict", "from_dict", "from_samples"}
)


@dataclass(frozen=True, eq=False)
class Call:
    """One call, with right arguments by name."""

    name: str
    function: Callable[..., Any]
    given: dict[str, Any]

    @property
    def hints(self) -> dict[str, Any]:
        """Annotation of each argument, evaluated."""
        if isinstance(self.function, type):
            return typing.get_type_hints(self.function, include_extras=True)
        bare = inspect.unwrap(getattr(self.function, "__func__", self.function))
        own = {k: v for k, v in bare.__annotations__.items() if k != "return"}
        shown = SimpleNamespace(__annotations__=own)
        return typing.get_type_hints(shown, globalns=bare.__globals__, include_extras=True)

    @property
    def is_result(self) -> bool:
        """Whether it makes a result."""
        return self.name.partition(".")[0] in RESULTS

    @property
    def parameters(self) -> dict[str, inspect.Parameter]:
        """Of the call, without the object itself."""
        found = inspect.signature(self.function).parameters
        return {k: v for k, v in found.items() if v.kind is not inspect.Parameter.VAR_POSITIONAL}

    @property
    def most_by_position(self) -> int:
        """How many arguments may be given without their names."""
        kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
        return sum(one.kind is kind for one in self.parameters.values())

    @property
    def takes_more(self) -> bool:
        """Whether any number may be."""
        found = inspect.signature(self.function).parameters.values()
        return any(one.kind is inspect.Parameter.VAR_POSITIONAL for one in found)


def blank(kind: type) -> Any:
    """An object of a class that nobody filled in: what is refused first never looks at it."""
    if issubclass(kind, Enum):
        return next(iter(kind))
    if inspect.isabstract(kind):
        return blank(kind.__subclasses__()[0])
    return object.__new__(kind)


def calls() -> list[Call]:
    """All of them."""
    return [*_constructors(), *_functions(), *_of_days(), *_methods()]


def _specimens() -> list[Any]:
    scenario = next(iter(ao.scenarios().values()))
    vehicle, mission = scenario.vehicle, scenario.mission
    engine = ao.Engine(vacuum_thrust=90 * kN, vacuum_isp=300.0)
    plan = ao.FlightPlan(inserting_stage=len(vehicle.stages) - 1)
    air = ao.Atmosphere.exponential(surface_density=1.2, scale_height=8.0 * km, ceiling=100.0 * km)
    stage = ao.Stage(name="first", propellant_mass=9e3, dry_mass=9e2, engine=engine)
    lean = ao.Open(name="lean", unit="rad", low=0.01, high=0.2)
    motor = ao.SolidMotor(time=[0.0, 60.0], vacuum_thrust=[2e5, 1e5], vacuum_isp=270.0)
    wind = ao.Wind(altitude=[0.0, 9e3], eastward=[5.0, 40.0], northward=[0.0, 3.0])
    law = ao.Programme(plan=plan, steps=(ao.Phase(formula=ao.AlongAirVelocity()),))
    return [
        scenario, vehicle, mission, engine, plan, air, stage, lean, motor, wind, law,
        ao.BoosterGroup(
            name="side", count=2, propellant_mass=motor.propellant_mass, dry_mass=9e2, engine=motor
        ),
        ao.Aerodynamics(reference_area=2.0, drag_coefficient=0.4),
        ao.DragCurve(mach=[0.0, 1.0, 5.0], cd=[0.3, 0.6, 0.2]),
        ao.Fairing(mass=300.0), ao.earth(), ao.CircularOrbit(altitude=300.0 * km),
        ao.EllipticalOrbit(periapsis_altitude=200.0 * km, apoapsis_altitude=900.0 * km),
        ao.LaunchSite(latitude=12.0 * deg), ao.FlightLimits(), ao.PropellantReserve(mass=30.0),
        ao.DeorbitReserve(periapsis_altitude=50.0 * km), ao.Effort(),
        ao.AfterDuration(3.0), ao.AfterDurationOrEmpty(3.0), ao.AfterPhaseDuration(3.0),
        ao.AtAirSpeed(60.0), ao.AtAltitude(500.0), ao.AtApoapsis(), ao.AtApoapsisRadius(7e6),
        ao.AtBeginOf("second"), ao.AtEmpty(), ao.AtNextApoapsis(), ao.AtPeriapsisRadius(7e6),
        ao.BelowHeating(1e3), ao.DownToAltitude(5e4),
        ao.Kick(at=ao.AtAirSpeed(60.0), angle=2.0 * deg),
        ao.GravityTurn(plan=plan, kick=None),
        ao.PitchTable(plan=plan, against=ao.Against.TIME, rows=((0.0, 1.5), (90.0, 0.5))),
        ao.SteeringSegment(arc="coast", duration=3.0),
        ao.TabulatedSteering(plan=plan, segments=[ao.SteeringSegment(arc="coast", duration=3.0)]),
        ao.CallableSteering(plan=plan, direction=lambda now: now.up),
        ao.Phase(formula=ao.Level()), ao.Lean(), ao.Level(), ao.AlongAirVelocity(),
        ao.LinearTangent(start=1.0, rate=-0.01), ao.KickRule(), ao.AngleRule(),
        ao.AnyAltitudeRule(), ao.PitchRateRule(),
        ao.CallableRule(name="mine", open=(lean,), function=lambda now, numbers: now.up),
        ao.Circularise(), ao.HoldApoapsis(), ao.LinearTangentInsertion(),
        ao.Catalogue(rules=(ao.KickRule(),)),
        ao.FeasibilityMargin(left=1.0, miss_per_unit=(1.0, 0.0, 0.0), why="it is too high"),
        ao.Parameter(name="lean", value=0.1, unit="rad"),
        ao.OrbitingStage(
            name="last", body=ao.earth(), stage=stage, position=[7e6, 0.0, 0.0],
            velocity=[0.0, 7.5e3, 0.0], mass=5e3, payload_mass=1e2, restarts=1,
        ),
        ao.Valley(step=0.1, smaller=1.0, larger=2.0),
        ao.Relief(limit="payload", unit="kg", gain=1.0),
        ao.Partial(quantity="payload", unit="kg", propellant=1.0, margin=-1.0),
        ao.NoPartial(quantity="payload", reason="it is held"),
        ao.Holder(kind=ao.HeldBy.TANK, what="the propellant", unit="kg", payload=1.1),
        ao.MaxPayload(payload=900.0, reserve=10.0, surplus=0.1, ascent=blank(ao.Ascent),
                      held_by=ao.Holder.unknown("nothing"), limits=()),
        ao.StageCost(stage="first", per_dry_mass=2.0), _cost(), ao.LeastCost(cost=_cost()),
        ao.LiftOffMassBudget(most=9e4), ao.CostBudget(cost=_cost(), most=5e3),
        ao.LeastLiftOffMass(), ao.GreatestPayload(within=ao.LiftOffMassBudget(most=9e4)),
        ao.FreePropellant(stage="first", least=9e2, most=9e4),
        ao.FreeThrust(stage="first", least=9e3, most=9e5),
        ao.FreeReferenceArea(least=1.0, most=9.0),
        ao.StructuralLaw(stage="first", fixed=90.0, per_propellant=0.05, per_thrust=1e-3),
        ao.Partials(rows=(), missing=()), ao.Baseline(), ao.CostTolerance(),
        ao.Varied(values=[1.0, 2.0], change=lambda vehicle, mission, value: (vehicle, mission)),
        *_scatter(),
    ]  # fmt: skip


def _scatter() -> list[Any]:
    by = ao.Normal(0.01)
    thrust, isp = ao.ThrustDispersion("first", by), ao.IspDispersion("first", by)
    wind = ao.Wind(altitude=[0.0, 9e3], eastward=[5.0, 40.0], northward=[0.0, 3.0])
    return [
        by, ao.Uniform(0.1), ao.TruncatedNormal(0.01), thrust, isp,
        ao.DryMassDispersion("first", by), ao.PropellantDispersion("first", by),
        ao.IgnitionDispersion("second", by), ao.SeparationDispersion("first", by),
        ao.PayloadDispersion(by), ao.DragDispersion(by), ao.NormalForceDispersion(by),
        ao.DensityDispersion(by), ao.AlignmentDispersion(by), ao.WindProfiles([wind, wind]),
        ao.RandomWind(altitude=[0.0, 9e3], sigma=[5.0, 20.0], correlation_length=3e3),
        ao.RandomDensity(altitude=[0.0, 9e3], sigma=[0.02, 0.05], correlation_length=6e3),
        ao.Correlation(thrust, isp, 0.5),
        ao.FirstOrder(sigma=3.0), ao.Mean(), ao.Quantile(0.9), ao.TuningDraws(),
    ]  # fmt: skip


def _cost() -> ao.LinearCost:
    return ao.LinearCost(stages=(ao.StageCost(stage="first", per_dry_mass=2.0),), fixed=1.0)


def _constructors() -> Iterator[Call]:
    for one in _specimens():
        given = {field.name: getattr(one, field.name) for field in fields(one) if field.init}
        yield Call(type(one).__name__, type(one), given)
    for name in sorted(RESULTS - {type(one).__name__ for one in _specimens()}):
        yield _of_blanks(getattr(ao, name))


def _of_blanks(kind: type) -> Call:
    """A result's constructor, with empty objects where it holds others."""
    hints = typing.get_type_hints(kind)
    given = {field.name: _plausible(hints[field.name]) for field in fields(kind) if field.init}
    return Call(kind.__name__, kind, given)


def _plausible(hint: Any) -> Any:
    origin = typing.get_origin(hint)
    if origin is np.ndarray:
        return np.zeros((2, 2))
    if origin is tuple:
        return ()
    if origin is not None:
        return _plausible(typing.get_args(hint)[0])
    return {float: 1.0, int: 1, str: "text", bool: True}.get(hint) or blank(hint)


def _functions() -> Iterator[Call]:
    scenario = next(iter(ao.scenarios().values()))
    ascent, rule, insertion = blank(ao.Ascent), ao.KickRule(), ao.Circularise()
    pair = {"vehicle": scenario.vehicle, "mission": scenario.mission}
    grid = {"across": [0.1, 0.2], "upward": [40.0, 50.0], "progress": None, "executor": None}
    law = ao.GravityTurn(plan=ao.FlightPlan(inserting_stage=1), kick=None)
    yield Call("optimize", ao.optimize, {**pair, "effort": ao.Effort()})
    yield Call("max_payload", ao.max_payload, {**pair, "effort": ao.Effort(), "reserve": 0.0})
    swept = {"over": {"payload_mass": [1.0]}, "effort": ao.Effort(), "store": None}
    yield Call("sweep", ao.sweep, {**pair, **swept, "executor": None})
    sized = {"free": (), "laws": (), "objective": ao.GreatestPayload()}
    yield Call("size", ao.size, {**pair, "effort": ao.Effort(), **sized})
    law_of = {"vehicle": scenario.vehicle, "stage": scenario.vehicle.stages[0].name}
    shares = {"per_propellant": 0.05, "per_thrust": 1e-3, "per_area": 0.0}
    yield Call("StructuralLaw.through", ao.StructuralLaw.through, {**law_of, **shares})
    yield Call("compare", ao.compare, {**pair, "ascent": ascent, "catalogue": None})
    yield Call("fly", ao.fly, {**pair, "law": law})
    yield Call("best_gravity_turn", ao.best_gravity_turn, {"ascent": ascent})
    yield Call("orbiting", ao.orbiting, {"ascent": ascent})
    kick = blank(ao.RuleOutcome)
    yield Call("valley", ao.valley, {"ascent": ascent, "kick": kick, "step": 0.001})
    one = {"ascent": ascent, "knots": 5, "against": ao.Against.TIME}
    yield Call("simplify", ao.simplify, one)
    yield Call("simplify_curve", ao.simplify_curve, {**one, "knots": [3, 4], "progress": None})
    down = {"start": ascent, "periapsis_altitude": 5e4, "coast": None, "with_payload": True}
    yield Call("deorbit", ao.deorbit, down)
    made = {"ascent": ascent, "rule": rule, "insertion": insertion}
    yield Call("cost_map", ao.cost_map, {**made, **grid})
    begun = {"begun": blank(ao.CostMap), **made, "progress": None, "executor": None}
    yield Call("continue_map", ao.continue_map, begun)
    for name in ("flight_card", "ascent_figure", "history_figure", "trajectory_figure"):
        yield Call(f"report.{name}", getattr(ao.report, name), {"subject": ascent})
    yield Call("report.losses_figure", ao.report.losses_figure, {"subject": ascent})
    told = {"comparison": blank(ao.Comparison)}
    yield Call("report.comparison_figure", ao.report.comparison_figure, told)
    drawn = {"cost_map": blank(ao.CostMap)}
    yield Call("report.penalty_map_figure", ao.report.penalty_map_figure, drawn)
    for name, sides in (
        ("sweep_lines_figure", ("across", "family")),
        ("carpet_figure", ("first", "second")),
        ("sweep_contour_figure", ("across", "upward")),
    ):
        given = {"sweep": blank(ao.Sweep), "quantity": "shortfall", **dict.fromkeys(sides)}
        yield Call(f"report.{name}", getattr(ao.report, name), {**given, "held": None})
    sizing = {"sizing": blank(ao.Sizing)}
    yield Call("report.sizing_figure", ao.report.sizing_figure, sizing)
    some = {"programmes": (blank(ao.SimplerProgramme),), "ascent": ascent}
    yield Call("report.simplify_figure", ao.report.simplify_figure, some)
    columns = {
        "altitude": [0.0, 1e4, 2e4], "temperature": [288.0, 223.0, 217.0],
        "pressure": [1e5, 2.6e4, 5.5e3], "density": [1.2, 0.41, 0.089], "ceiling": 1e5,
        "heat_capacity_ratio": 1.4,
    }  # fmt: skip
    yield Call("Atmosphere.tabulated", ao.Atmosphere.tabulated, columns)
    air = {
        "surface_density": 1.2, "scale_height": 8e3, "ceiling": 1e5, "surface_temperature": 288.0,
        "gas_constant": 287.0, "heat_capacity_ratio": 1.4,
    }  # fmt: skip
    yield Call("Atmosphere.exponential", ao.Atmosphere.exponential, air)
    yield Call("Atmosphere.standard_1976", ao.Atmosphere.standard_1976, {"ceiling": 1e5})


def _of_days() -> Iterator[Call]:
    ascent = blank(ao.Ascent)
    scatter = {"dispersions": (ao.DragDispersion(ao.Normal(0.05)),), "correlations": ()}
    flights = {"count": 900, "progress": None, "time_limit": None, "executor": None}
    yield Call("disperse", ao.disperse, {"ascent": ascent, **scatter, **flights, "seed": 0})
    robust = {"knots": 3, "against": ao.Mean(), "draws": ao.TuningDraws(), "time_limit": None}
    tuned = {"ascent": ascent, **scatter, **robust, "progress": None}
    yield Call("robust_programme", ao.robust_programme, tuned)
    figure = ao.report.robust_programme_figure
    yield Call("report.robust_programme_figure", figure, {"programme": blank(ao.RobustProgramme)})
    more = {"begun": blank(ao.DispersedFlights), **flights}
    yield Call("continue_dispersion", ao.continue_dispersion, more)
    shown = {"share": 0.99, "confidence": 0.9, "failures": 0}
    yield Call("least_flights", ao.least_flights, shown)
    of_flights = {"flights": blank(ao.DispersedFlights)}
    for name in ("importance_figure", "insertion_figure"):
        yield Call(f"report.{name}", getattr(ao.report, name), of_flights)
    sure = {**of_flights, "confidence": 0.9}
    yield Call("report.dispersed_loads_figure", ao.report.dispersed_loads_figure, sure)
    yield Call("report.propellant_left_figure", ao.report.propellant_left_figure, sure)


def _methods() -> Iterator[Call]:
    """Public methods of the specimens that take arguments."""
    seen: set[tuple[type, str]] = set()
    for one in _specimens():
        kind = type(one)
        for name, member in vars(kind).items():
            contract = any(name in vars(base) for base in kind.__mro__[1:])
            if name.startswith("_") or contract or name in FILES or (kind, name) in seen:
                continue
            if not inspect.isfunction(member):
                continue
            seen.add((kind, name))
            call = Call(f"{kind.__name__}.{name}", getattr(one, name), {})
            given = {k: _right(call.hints.get(k), k) for k in call.parameters}
            if given:
                yield Call(call.name, call.function, given)


def _right(hint: Any, name: str) -> Any:
    known: dict[str, Any] = {
        "body": ao.earth(), "stage_index": 0, "stage": 0, "mass": 1.0, "propellant_mass": 1e3,
        "value": 0.1, "place": 0.1, "time": 1.0, "altitude": 1e3, "mach": 0.5, "others": (),
        "vehicle": next(iter(ao.scenarios().values())).vehicle,
        "name": "case", "ascent": blank(ao.Ascent), "tolerance": ao.CostTolerance(),
        "rise_speed": 30.0, "lean": 0.1, "values": (0.1,),
    }  # fmt: skip
    return known.get(name, 1.0 if hint is float else None)


def uncovered() -> list[str]:
    """Public names that no call here makes and that are not left out with a reason."""
    called = {call.name.partition(".")[0] for call in calls()}
    return sorted(set(ao.__all__) - called - NOT_CALLED)


def is_data(value: object) -> bool:
    """Whether it is an object of a dataclass, and not a class."""
    return is_dataclass(value) and not isinstance(value, type)
