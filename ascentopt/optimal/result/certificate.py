"""Why an answer can be trusted, in numbers that can be checked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from math import nan

import numpy as np

from ascentopt.collocation import Accuracy, ArcSolution, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.results.excess import CERTIFIED_EXCESS
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.limit_check import peaks
from ascentopt.mission import FlightLimits
from ascentopt.optimal.attempt import NO_LENGTH, OPTIMAL_RESIDUAL, Attempt
from ascentopt.optimal.structure.census import Census
from ascentopt.persistence import Result
from ascentopt.tables import Table, Tabular, in_a_line, one_line
from ascentopt.units import deg


class Verdict(Enum):
    """One word; the value says what it stands for."""

    CERTIFIED = (
        "every number of the certificate is within its threshold, and every other structure was "
        "solved, bounded or argued away"
    )
    UNSETTLED = (
        "every number of the certificate is within its threshold, but a structure that may be "
        "better was neither solved nor argued away, or a bound acts that the user did not set"
    )
    DOUBTFUL = "a number of the certificate is beyond its threshold: do not trust the answer"


@dataclass(frozen=True, kw_only=True)
class Threshold:
    """What a number of the certificate must not exceed, and why."""

    name: str
    limit: float
    unit: str
    reason: str
    unknown: str = ""
    """Why there may be no such number, for those of which nan says just that."""

    __repr__ = in_a_line


CONTINUOUS_ERROR = 1e-5
"""Relative to the states' scales: what the polynomials may miss between their nodes."""

THRESHOLDS = (
    Threshold(name="primal_residual", limit=1e-6, unit="scaled",
              reason="a millionth of a radius, a speed or a mass"),
    Threshold(name="dual_residual", limit=OPTIMAL_RESIDUAL, unit="scaled",
              reason="a hundred-thousandth of the cost per scaled unit of any variable"),
    Threshold(name="complementarity", limit=OPTIMAL_RESIDUAL, unit="scaled",
              reason="cost that an active limit may still hide"),
    Threshold(name="continuous_error", limit=CONTINUOUS_ERROR, unit="relative",
              reason="what the polynomials miss between their nodes"),
    Threshold(name="position_miss", limit=10.0, unit="m",
              reason="the independent flight must arrive where the optimum says"),
    Threshold(name="velocity_miss", limit=0.01, unit="m/s",
              reason="and with its velocity"),
    Threshold(name="limit_excess", limit=CERTIFIED_EXCESS, unit="of the limit",
              reason="the independent flight must keep the limits, between the nodes as well",
              unknown="there is no limit on loads, and no fairing that was dropped"),
    Threshold(name="primer_angle", limit=0.5 * deg, unit="rad",
              reason="thrust along the primer vector where no limit acts (Pontryagin)",
              unknown="where it steers a limit or the throttle acts, or there is nothing to gain"),
    Threshold(name="hamiltonian_drift", limit=2e-2, unit="relative to the mass flow",
              reason="the Hamiltonian of an arc that does not depend on time is constant",
              unknown="a limit, the throttle or a clock acts on every arc that is steered"),
    Threshold(name="hamiltonian_at_end", limit=2e-2, unit="relative to the mass flow",
              reason="and zero where the time of the insertion is free",
              unknown="the last burn is limited, empties its tank, or should rather not be"),
    Threshold(name="rule_gain", limit=1e-4, unit="of the propellant used",
              reason="no rule of thumb within the limits may cost less",
              unknown="no rule that keeps the limits was flown; `compare` flies them"),
)  # fmt: skip

NO_ANSWER = {"position_miss": 1e3, "velocity_miss": 1.0, "limit_excess": 0.1}
"""What no autopilot closes and no structure bears: a kilometre, a metre per second (a hundred times
what a certificate allows), or a tenth of a limit."""

SPARE = 1e-4
"""Part of the final mass that must be left for the end of the burn to count as free."""

WORTHLESS = 1e-4
"""Of an arc's mass over its speed: kg that a m/s is worth, below which steering has no price. Where
it has one it is some tenths of the final mass over an exhaust speed."""

ACTS = 1e-6
"""Of the mass: kg that one scale more of a limit is worth along an arc, above which it acts. The
solver's barrier leaves a hundredth of that where a limit is far away, in all nodes of an arc."""

PINNED = 1.5
"""Times the shortest duration below which the end of a burn that should not be counts as held."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Certificate(Result, Tabular):
    """Numbers that vouch for a solution; see `THRESHOLDS` for what each must not exceed.

    Args:
        primal_residual, dual_residual, complementarity: first-order conditions of the nonlinear
            program, computed by us and not by the solver, in scaled units.
        continuous_error: of the collocation polynomials, relative to the states' scales.
        position_miss, velocity_miss: how far an independent flight of the exported steering, with
            another integrator, ends from the planned insertion, m and m/s.
        limit_excess: the greatest share of itself by which that flight exceeds a limit of the
            mission on loads or turn rate, or what heating the payload bears after the fairing drop;
            negative where it keeps all, nan where there is none.
        primer_angle: largest angle in rad between thrust and primer vector (minus the costate of
            the velocity) at points where no limit acts; nan where there is no such point.
        hamiltonian_drift: largest variation of the Hamiltonian over such an arc, relative to the
            mass flow.
        hamiltonian_at_end: size of the Hamiltonian on the last arc, relative to the mass flow; nan
            where the burn is limited, uses up what there is, or
            should rather not be.
        rule_gain: by how much the best rule of thumb that keeps the limits costs less, negative if
            it costs more, as a part of the propellant used; nan until `compare` has flown them.
        structures: which other structures the answer was compared with; None where it stands for
            one alone, as a neighbour of a known answer does.
    """

    primal_residual: float
    dual_residual: float
    complementarity: float
    continuous_error: float
    position_miss: float
    velocity_miss: float
    primer_angle: float
    hamiltonian_drift: float
    hamiltonian_at_end: float = nan
    limit_excess: float = nan
    rule_gain: float = nan
    structures: Census | None = None

    @property
    def verdict(self) -> Verdict:
        """Certified only with every number within its threshold and every structure settled."""
        if self.beyond():
            return Verdict.DOUBTFUL
        settled = self.structures is None or self.structures.settled
        return Verdict.CERTIFIED if settled else Verdict.UNSETTLED

    def __bool__(self) -> bool:
        """Whether the verdict is certified: nothing is beyond its threshold, or unsettled."""
        return self.verdict is Verdict.CERTIFIED

    def far_beyond(self) -> tuple[str, ...]:
        """Names of the numbers so far beyond that the flight is no answer: see `NO_ANSWER`."""
        return tuple(name for name, most in NO_ANSWER.items() if getattr(self, name) > most)

    def beyond(self) -> tuple[str, ...]:
        """Names of the numbers beyond their thresholds; nan counts only where it has no meaning."""
        return tuple(t.name for t in THRESHOLDS if self._fails(t))

    def _fails(self, threshold: Threshold) -> bool:
        value = getattr(self, threshold.name)
        if np.isnan(value):
            return not threshold.unknown
        return bool(value > threshold.limit)

    def to_table(self) -> Table:
        """A row for each number, with its threshold, in the threshold's own unit."""
        columns = (
            ("number", ""), ("value", "see unit"), ("at_most", "see unit"), ("unit", ""),
            ("within", ""), ("remark", ""),
        )  # fmt: skip
        title = f"certificate: {self.verdict.name.lower()}"
        return Table.of(title, columns, map(self._table_row, THRESHOLDS))

    def _table_row(self, threshold: Threshold) -> tuple[object, ...]:
        value, unit = getattr(self, threshold.name), threshold.unit
        within, missing = not self._fails(threshold), bool(np.isnan(value))
        remark = threshold.unknown if missing else ""
        return threshold.name, None if missing else value, threshold.limit, unit, within, remark

    def __repr__(self) -> str:
        miss = f"misses by {self.position_miss:.2g} m and {self.velocity_miss:.2g} m/s"
        return one_line(self, self.verdict.name.lower(), *self.beyond(), miss)

    def __str__(self) -> str:
        rows = [f"certificate: {self.verdict.name.lower()}"]
        rows += [self._row(threshold) for threshold in THRESHOLDS]
        return "\n".join(rows if self.structures is None else [*rows, str(self.structures)])

    def _row(self, threshold: Threshold) -> str:
        value = getattr(self, threshold.name)
        name = f"  {threshold.name.replace('_', ' '):20}"
        if np.isnan(value) and threshold.unknown:
            return f"{name}{'-':>12}  ({threshold.unknown})"
        return f"{name}{value:12.2e}  (at most {threshold.limit:.1e} {threshold.unit})"


def certify(
    attempt: Attempt, flight: Flight, limits: FlightLimits, max_heating: float | None = None
) -> Certificate:
    """Measure a solution and the independent flight of its steering.

    Beside the limits of the mission, and what heating the payload bears without its fairing, W/m^2.
    """
    solution = attempt.found
    miss = flight.final_state[:6] - attempt.intended_end_state()
    steered = list(_steered_arcs(attempt, solution))
    free = [own for own, timed in steered if not timed]
    residuals = solution.residuals
    return Certificate(
        primal_residual=residuals.primal,
        dual_residual=residuals.dual,
        complementarity=residuals.complementarity,
        continuous_error=Accuracy.of(solution).error,
        position_miss=float(np.linalg.norm(miss[:3])),
        velocity_miss=float(np.linalg.norm(miss[3:])),
        limit_excess=max((one.share for one in peaks(flight, limits, max_heating)), default=nan),
        primer_angle=max((primer_angle(own) for own, _ in steered), default=nan),
        hamiltonian_drift=max((_drift(arc) for arc in free), default=nan),
        hamiltonian_at_end=_at_end(attempt, free),
    )


def _at_end(attempt: Attempt, free: list[ArcSolution]) -> float:
    last, arc = attempt.found.arcs[-1], attempt.sequence.arcs[-1]
    spare = attempt.sequence.propellant_in_tank(attempt.cut_off_mass)
    pinned = last.duration < PINNED * arc.duration[0]
    if pinned or spare < SPARE * attempt.final_mass or not any(one is last for one in free):
        return nan
    flow = last.arc.parameters[1] + last.arc.parameters[4]
    return float(np.abs(last.hamiltonian()).max() / flow)


def _steered_arcs(attempt: Attempt, solution: Solution) -> Iterator[tuple[ArcSolution, bool]]:
    """Steered arcs on which thrust must lie along the primer vector, and whether they are timed.

    They last a while: a burn that the fairing's drop has shrunk to nothing has no direction. No
    limit acts there, throttle and turn rate are not controls, and the air does not push across the
    axis; and steering has a price: where solid motors alone have more than the orbit takes, the
    tank stays full however they waste it, and the primer vector is noise. Where a solid motor's
    thrust depends on the clock the Hamiltonian is not constant.
    """
    for arc, own in zip(attempt.sequence.arcs, solution.arcs, strict=True):
        kind = arc.kind
        timed = kind.core_curve is not None or bool(kind.side_curves)
        only_direction = not (kind.throttled or kind.direction_is_state)
        plain = only_direction and arc.parameters.normal_force_slope == 0.0
        limited = arc.name in attempt.limited_arcs or _limit_acts(own)
        flown = own.duration > NO_LENGTH
        if kind.guidance is Guidance.STEERED and plain and flown and not limited and _pays(own):
            yield own, timed


def _limit_acts(own: ArcSolution) -> bool:
    """Whether a path limit, the length of the direction left aside, is worth anything on an arc."""
    scales = np.array([quantity.scale for quantity in own.arc.model.path])
    worth = own.duration * own.arc.mesh.weights() @ np.abs(own.path_multipliers) * scales
    return bool(worth[1:].max(initial=0.0) > ACTS * own.states[-1, MASS])


def _pays(own: ArcSolution) -> bool:
    """Whether a m/s is worth any part of the mass at all."""
    worth = np.linalg.norm(own.costates[:, 3:6], axis=1).max()
    mass, speed = own.states[-1, MASS], np.linalg.norm(own.states[-1, 3:6])
    return bool(worth > WORTHLESS * mass / speed)


def primer_angle(arc: ArcSolution) -> float:
    """Largest angle in rad between thrust direction and primer vector at the nodes of an arc."""
    primer, thrust = -arc.costates[1:, 3:6], arc.controls[:, :3]
    across = np.linalg.norm(np.cross(primer, thrust), axis=1)
    return float(np.arctan2(across, (primer * thrust).sum(axis=1)).max())


def _drift(arc: ArcSolution) -> float:
    values = arc.hamiltonian()
    flow = arc.arc.parameters[1] + arc.arc.parameters[4]
    return float((values.max() - values.min()) / flow)
