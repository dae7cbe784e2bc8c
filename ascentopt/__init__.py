"""Least-propellant ascents of multistage rockets to orbit, and why to trust them.

`optimize` turns a `Vehicle` and a `Mission` into an `Ascent`; `fly` flies any steering law without
an optimiser. Numbers are in SI base units and radians; `ascentopt.units` has multipliers.
"""

from logging import NullHandler, getLogger

from ascentopt import report
from ascentopt.baselines import Baseline, BaselineCase, BaselineCheck, CostTolerance, InputChange
from ascentopt.descriptions import read, write
from ascentopt.errors import (
    InfeasibleAscent,
    InputError,
    Interrupted,
    OutOfTime,
    UnusualInputWarning,
)
from ascentopt.flight.guidance.direction import Formula, HeadedView, View
from ascentopt.flight.guidance.ending import (
    AfterDuration,
    AfterDurationOrEmpty,
    AfterPhaseDuration,
    AtAirSpeed,
    AtAltitude,
    AtApoapsis,
    AtApoapsisRadius,
    AtBeginOf,
    AtEmpty,
    AtNextApoapsis,
    AtPeriapsisRadius,
    BelowHeating,
    DownToAltitude,
    Ending,
)
from ascentopt.flight.guidance.moment import HeadedMoment, Moment
from ascentopt.flight.orbit.orbiting import OrbitingStage
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.failure import FlightError
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.verdict import Verdict
from ascentopt.flight.results.verification import Verification
from ascentopt.flight.simulation.simulate import fly
from ascentopt.mission import (
    CircularOrbit,
    DeorbitReserve,
    EllipticalOrbit,
    FlightLimits,
    LaunchSite,
    Mission,
    PropellantReserve,
)
from ascentopt.optimal.explain.diagnosis import Diagnosis, Relief
from ascentopt.optimal.optimize import Effort, optimize
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.partials import NoPartial, Partial, Partials
from ascentopt.progress import Progress, ProgressBar, Step
from ascentopt.rocket import (
    Aerodynamics,
    BoosterGroup,
    DragCurve,
    Engine,
    Fairing,
    SolidMotor,
    Stage,
    Vehicle,
)
from ascentopt.rocket.structural_law import StructuralLaw
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.rules.insertion.held_apoapsis import HoldApoapsis
from ascentopt.rules.insertion.insertion import Arrival, Insertion
from ascentopt.rules.insertion.refusals import TooFlat, TooHigh
from ascentopt.rules.insertion.ways import Circularise, LinearTangentInsertion
from ascentopt.rules.laws.angle_at_altitude import AngleRule
from ascentopt.rules.laws.any_altitude import AnyAltitudeRule
from ascentopt.rules.laws.callable_rule import CallableRule
from ascentopt.rules.laws.kick import KickRule
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.parameter import Parameter
from ascentopt.rules.laws.pitch_rate import PitchRateRule
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.scenarios import Scenario, scenarios
from ascentopt.steering import (
    Against,
    CallableSteering,
    GravityTurn,
    Kick,
    PitchTable,
    SteeringSegment,
    TabulatedSteering,
)
from ascentopt.steering.formulas import AlongAirVelocity, Lean, Level, LinearTangent
from ascentopt.steering.programme import Phase, Programme
from ascentopt.studies.comparison.best_turn import Valley, best_gravity_turn, valley
from ascentopt.studies.comparison.compare import Catalogue, compare
from ascentopt.studies.comparison.comparison import Comparison
from ascentopt.studies.comparison.outcome import RuleOutcome
from ascentopt.studies.deorbit.deorbit import deorbit, orbiting
from ascentopt.studies.deorbit.way_home import Deorbit
from ascentopt.studies.designs.free import FreePropellant, FreeReferenceArea, FreeThrust
from ascentopt.studies.designs.objective import (
    CostBudget,
    GreatestPayload,
    LeastCost,
    LeastLiftOffMass,
    LiftOffMassBudget,
    LinearCost,
    StageCost,
)
from ascentopt.studies.dispersions.disperse import continue_dispersion, disperse
from ascentopt.studies.dispersions.dispersed_flights import DispersedFlights
from ascentopt.studies.dispersions.importance import Importance, Influence
from ascentopt.studies.dispersions.load_shares import LoadShare, LoadShares
from ascentopt.studies.dispersions.reserve import DispersionReserve, FirstOrder
from ascentopt.studies.dispersions.sample_size import least_flights
from ascentopt.studies.dispersions.scatter.correlation import Correlation
from ascentopt.studies.dispersions.scatter.density import RandomDensity
from ascentopt.studies.dispersions.scatter.distributions import Normal, TruncatedNormal, Uniform
from ascentopt.studies.dispersions.scatter.parts import (
    DryMassDispersion,
    IgnitionDispersion,
    IspDispersion,
    PropellantDispersion,
    SeparationDispersion,
    ThrustDispersion,
)
from ascentopt.studies.dispersions.scatter.whole import (
    AlignmentDispersion,
    DensityDispersion,
    DragDispersion,
    NormalForceDispersion,
    PadAxis,
    PayloadDispersion,
)
from ascentopt.studies.dispersions.scatter.wind import RandomWind, WindProfiles
from ascentopt.studies.maps.cost_map import CostMap
from ascentopt.studies.maps.map_rule import continue_map, cost_map
from ascentopt.studies.payload.greatest import MaxPayload
from ascentopt.studies.payload.holder import HeldBy, Holder
from ascentopt.studies.payload.max_payload import max_payload
from ascentopt.studies.robust.criteria import Mean, Quantile
from ascentopt.studies.robust.programme import RobustProgramme
from ascentopt.studies.robust.robust_programme import TuningDraws, robust_programme
from ascentopt.studies.simplify.simpler import SimplerCurve, SimplerProgramme
from ascentopt.studies.simplify.simplify import simplify, simplify_curve
from ascentopt.studies.sizing.size import size
from ascentopt.studies.sizing.sized import Sizing
from ascentopt.studies.sizing.sized_number import SizedNumber
from ascentopt.studies.sweep.answer import PointOutcome, SweepAnswer
from ascentopt.studies.sweep.points.varied import Varied
from ascentopt.studies.sweep.sweep import sweep
from ascentopt.studies.sweep.swept import Sweep
from ascentopt.tables import Table
from ascentopt.world import Atmosphere, Body, Wind, earth, mars, moon

__version__ = "0.3.0"

getLogger(__name__).addHandler(NullHandler())  # nothing is printed unless the user asks for it

__all__ = [
    "Aerodynamics",
    "AfterDuration",
    "AfterDurationOrEmpty",
    "AfterPhaseDuration",
    "Against",
    "AlignmentDispersion",
    "AlongAirVelocity",
    "AngleRule",
    "AnyAltitudeRule",
    "Arrival",
    "Ascent",
    "AtAirSpeed",
    "AtAltitude",
    "AtApoapsis",
    "AtApoapsisRadius",
    "AtBeginOf",
    "AtEmpty",
    "AtNextApoapsis",
    "AtPeriapsisRadius",
    "Atmosphere",
    "Baseline",
    "BaselineCase",
    "BaselineCheck",
    "BelowHeating",
    "Body",
    "BoosterGroup",
    "CallableRule",
    "CallableSteering",
    "Catalogue",
    "CircularOrbit",
    "Circularise",
    "Comparison",
    "Correlation",
    "CostBudget",
    "CostMap",
    "CostTolerance",
    "DensityDispersion",
    "Deorbit",
    "DeorbitReserve",
    "Diagnosis",
    "DispersedFlights",
    "DispersionReserve",
    "DownToAltitude",
    "DragCurve",
    "DragDispersion",
    "DryMassDispersion",
    "Effort",
    "EllipticalOrbit",
    "Ending",
    "Engine",
    "Fairing",
    "FeasibilityMargin",
    "FirstOrder",
    "Flight",
    "FlightError",
    "FlightLimits",
    "FlightPlan",
    "Formula",
    "FreePropellant",
    "FreeReferenceArea",
    "FreeThrust",
    "GravityTurn",
    "GreatestPayload",
    "HeadedMoment",
    "HeadedView",
    "HeldBy",
    "HoldApoapsis",
    "Holder",
    "IgnitionDispersion",
    "Importance",
    "InfeasibleAscent",
    "Influence",
    "InputChange",
    "InputError",
    "Insertion",
    "Interrupted",
    "IspDispersion",
    "Kick",
    "KickRule",
    "LaunchSite",
    "Lean",
    "LeastCost",
    "LeastLiftOffMass",
    "Level",
    "LiftOffMassBudget",
    "LinearCost",
    "LinearTangent",
    "LinearTangentInsertion",
    "LoadShare",
    "LoadShares",
    "MaxPayload",
    "Mean",
    "Mission",
    "Moment",
    "NoPartial",
    "Normal",
    "NormalForceDispersion",
    "Open",
    "OrbitingStage",
    "OutOfTime",
    "Pad",
    "PadAxis",
    "Parameter",
    "Partial",
    "Partials",
    "PayloadDispersion",
    "Phase",
    "PitchRateRule",
    "PitchTable",
    "PointOutcome",
    "Programme",
    "Progress",
    "ProgressBar",
    "PropellantDispersion",
    "PropellantReserve",
    "Quantile",
    "RandomDensity",
    "RandomWind",
    "Relief",
    "RobustProgramme",
    "Rule",
    "RuleOutcome",
    "Scenario",
    "SeparationDispersion",
    "SimplerCurve",
    "SimplerProgramme",
    "SizedNumber",
    "Sizing",
    "SolidMotor",
    "Stage",
    "StageCost",
    "SteeringSegment",
    "Step",
    "StructuralLaw",
    "Sweep",
    "SweepAnswer",
    "Table",
    "TabulatedSteering",
    "ThrustDispersion",
    "TooFlat",
    "TooHigh",
    "TruncatedNormal",
    "TuningDraws",
    "Uniform",
    "UnusualInputWarning",
    "Valley",
    "Varied",
    "Vehicle",
    "Verdict",
    "Verification",
    "View",
    "Wind",
    "WindProfiles",
    "best_gravity_turn",
    "compare",
    "continue_dispersion",
    "continue_map",
    "cost_map",
    "deorbit",
    "disperse",
    "earth",
    "fly",
    "least_flights",
    "mars",
    "max_payload",
    "moon",
    "optimize",
    "orbiting",
    "read",
    "report",
    "robust_programme",
    "scenarios",
    "simplify",
    "simplify_curve",
    "size",
    "sweep",
    "valley",
    "write",
]
