"""What is recorded of one ascent."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from ascentopt.arguments import checked_kinds
from ascentopt.baselines.input_partials import TOGETHER, input_partials
from ascentopt.baselines.inputs import Input, inputs_of, is_input, is_number, is_text, kept
from ascentopt.baselines.tolerance import CostTolerance
from ascentopt.errors import InputError
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.persistence import library
from ascentopt.tables import one_line
from ascentopt.validation import instance, not_negative, positive, require

COST_DIGITS = 10
"""Significant digits of a cost that are kept: what comes after is rounding."""

RECORD = "Restore what was recorded, or record the case anew from an ascent."

WORDS = tuple(verdict.name.lower() for verdict in Verdict)
"""A verdict in a file, from the best to the worst."""


@checked_kinds
@dataclass(frozen=True, kw_only=True)
class BaselineCase:
    """An ascent as a baseline keeps it.

    Args:
        propellant_used: kg.
        ballast: kg beside the payload; positive where no engine can be cut off.
        tolerance: by how much the cost may differ.
        structure: the burns and coasts of the flight in words, and where its fairing goes.
        verdict: of the certificate: certified, unsettled or doubtful.
        recorded_with: versions of the library and its solver.
        inputs: the numbers and names of vehicle and mission, SI units, by their places.
        partials: kg more of `cost` for one SI unit more of an input, to first order, by the place
            of the input; places joined by " with " change together.

    Raises:
        InputError: for anything else.
    """

    propellant_used: float
    ballast: float = 0.0
    tolerance: CostTolerance = CostTolerance()
    structure: str
    verdict: str
    recorded_with: str
    inputs: Mapping[str, Input]
    partials: Mapping[str, float]

    def __post_init__(self) -> None:
        owner, fix = "BaselineCase", RECORD
        for name in ("propellant_used", "ballast"):
            value, rule = getattr(self, name), "a finite number"
            require(owner, name, value, "kg", rule, fix, holds=is_number(value))
        positive(owner, "propellant_used", self.propellant_used, "kg", fix)
        not_negative(owner, "ballast", self.ballast, "kg", fix)
        instance(owner, "tolerance", self.tolerance, (CostTolerance,), "Give a CostTolerance.")
        for name in ("structure", "verdict", "recorded_with"):
            value = getattr(self, name)
            require(owner, name, value, "", "a text in Unicode", fix, holds=is_text(value))
        if self.verdict not in WORDS:
            raise InputError(
                f"{owner}: verdict is {self.verdict!r}; it must be one of {', '.join(WORDS)}. {fix}"
            )
        self._keep("inputs", is_input, "a finite number, a text or a tuple of finite numbers")
        self._keep("partials", is_number, "a finite number")
        self._check_places_of_partials()

    def _check_places_of_partials(self) -> None:
        """A partial under a misspelt place would explain nothing, and nobody would be told."""
        for key in self.partials:
            for place in key.split(TOGETHER):
                if place not in self.inputs:
                    raise InputError(
                        f"BaselineCase: a key of partials is {key!r}; {place!r} in it must be the "
                        f"place of an input. {RECORD}"
                    )

    def _keep(self, name: str, good: Callable[[object], bool], rule: str) -> None:
        owner, values = "BaselineCase", getattr(self, name)
        instance(owner, name, values, (Mapping,), RECORD)
        for key, value in values.items():
            require(owner, f"a key of {name}", key, "", "a text", RECORD, holds=is_text(key))
            require(owner, f"{name}[{key!r}]", value, "", rule, RECORD, holds=good(value))
        object.__setattr__(self, name, MappingProxyType(dict(values)))

    @classmethod
    def of(cls, ascent: Ascent, tolerance: CostTolerance = CostTolerance()) -> BaselineCase:
        """What is to be recorded of an ascent."""
        fix = "Give what `optimize` returned, or Ascent.load(path)."
        instance("BaselineCase", "ascent", ascent, (Ascent,), fix)
        return cls(
            propellant_used=kept(ascent.propellant_used, COST_DIGITS),
            ballast=kept(ascent.ballast, COST_DIGITS),
            tolerance=tolerance,
            structure=structure_of(ascent),
            verdict=ascent.certificate.verdict.name.lower(),
            recorded_with=versions(),
            inputs=_inputs_of(ascent),
            partials=input_partials(ascent),
        )

    @property
    def cost(self) -> float:
        """What is compared, kg: the propellant used, less what ballast could have been payload.

        Motors that all burn to their ends use all there is; a better flight carries more ballast.
        """
        return self.propellant_used - self.ballast

    def __repr__(self) -> str:
        cost = f"{self.propellant_used:.2f} kg used"
        return one_line(self, cost, self.verdict, self.structure, f"{len(self.inputs)} inputs")


def _inputs_of(ascent: Ascent) -> dict[str, Input]:
    """An instant of lift-off that was left free is an answer, and no input."""
    inputs = inputs_of(ascent.vehicle, ascent.mission)
    if any(one.quantity == "lift-off time" for one in ascent.partials.missing):
        inputs["mission.lift_off_time"] = "when it costs least"
    return inputs


def structure_of(ascent: Ascent) -> str:
    """Burns and coasts in words without their numbers, and where the fairing goes."""
    plan = ascent.plan
    words = str(replace(plan, ballast=None) if plan.ballast else plan)
    if ascent.vehicle.fairing is None:
        return words
    gone = "kept" if plan.fairing_arc is None else f"dropped in {plan.fairing_arc!r}"
    return f"{words}, fairing {gone}"


def versions() -> str:
    """Of the library and of the solver under it."""
    from importlib.metadata import version

    return f"ascentopt {library()}, casadi {version('casadi')}"
