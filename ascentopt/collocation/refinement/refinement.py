"""How wrong a solution is between its nodes, and the mesh that makes it right."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ascentopt.arguments import checked
from ascentopt.collocation.guess import Guess
from ascentopt.collocation.mesh.mesh import LARGEST_DEGREE, RadauMesh
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.nlp.ramps import jumps, ramp_lengths
from ascentopt.collocation.problem import Problem
from ascentopt.collocation.solution import ArcSolution, NotConverged, Outcome, Solution
from ascentopt.collocation.solver.solver import SolverSettings, solve
from ascentopt.errors import InputError

MOST_PIECES = 4  # of an interval in one round

FAR, WIDE = 4.0, 0.07
"""Times the tolerance by which a limit is exceeded, and fraction of the arc that an interval is
wide, above which it is cut in three for the kink: of ten cases four take a round less."""

BRIEFEST = 1e-3
"""Share of an arc: a sixth of a second of a first stage's burn, over which a limit that is exceeded
by a few per cent bears no structure down."""

LAST_ARCS = 32
"""Arcs of which errors are kept: those of the flight at hand, which is looked at by the next round,
by whoever asks whether it is fine enough, and by the certificate. Flights have fewer."""

SAMPLES = 4  # Gauss points more than the degree: enough to see the residual between the nodes


@checked
@dataclass(frozen=True, kw_only=True)
class Refinement:
    """When a mesh is good enough, and how it is made better.

    Args:
        tolerance: largest continuous error of any interval, relative to the states' scales.
        path_tolerance: largest excess over a path limit between nodes, in the limit's scale.
        rounds: at most so many solves after the first.
        highest_degree: an interval that needs more is split instead.
        longest_ramp: fraction of an arc over which a control may go from bound to bound where it
            should jump.
        briefest: fraction of an arc below which an interval is not cut for an excess, nor counts
            for one. Where a limit on the state is touched at one instant a control that is limited
            itself jumps, and its polynomial overshoots on every mesh, for a shorter time on every
            finer one.
        widest_corner: fraction of an arc that an interval may be wide in which, or beside which,
            such a control reaches or leaves a bound; `refine_switching_points` sees to it.
    """

    tolerance: float = 1e-6
    path_tolerance: float = 1e-3
    rounds: int = 6
    highest_degree: int = 8
    longest_ramp: float = 0.01
    briefest: float = BRIEFEST
    widest_corner: float = 0.001

    def __post_init__(self) -> None:
        for name in ("tolerance", "path_tolerance", "longest_ramp", "widest_corner"):
            value = getattr(self, name)
            if not value > 0.0:
                raise InputError(f"Refinement: {name} is {value}; it must be positive. Raise it.")
        if self.rounds < 0 or not 1 <= self.highest_degree <= LARGEST_DEGREE:
            raise InputError(
                f"Refinement: rounds is {self.rounds} and highest_degree {self.highest_degree}; "
                f"they must be 0 or more and in 1..{LARGEST_DEGREE}. Correct them."
            )


@lru_cache(maxsize=LAST_ARCS)
def continuous_errors(arc: ArcSolution) -> Array:
    """(intervals,) error of each interval, relative to one scale of the worst state.

    The residual of the equations between the nodes, x'(t) - f(x(t), u(t)), is integrated from the
    interval's start to points within it: to first order the distance by which a flight with the
    solution's controls strays from the solution.
    Source: J. T. Betts, *Practical Methods for Optimal Control*, 2nd ed., sec. 4.7.
    """
    mesh = arc.arc.mesh
    samples = [_integrals_to(degree + SAMPLES) for degree in mesh.degrees]
    cuts = zip(mesh.breaks[:-1], mesh.widths, samples, strict=True)
    fractions = np.concatenate([left + width * local for left, width, (local, _) in cuts])
    # Written as increments, not rates: an arc may have shrunk to no duration at all.
    residual = arc.increments_at(fractions) - arc.duration * arc.rates_at(fractions)
    residual /= np.maximum(arc.arc.scales, np.abs(arc.variables).max(axis=0))
    parts = np.split(residual, np.cumsum([len(local) for local, _ in samples])[:-1])
    strays = zip(mesh.widths, samples, parts, strict=True)
    found = np.array([width * np.abs(to @ part).max() for width, (_, to), part in strays])
    found.flags.writeable = False
    return found


@lru_cache(maxsize=64)
def _integrals_to(count: int) -> tuple[Array, Array]:
    """Gauss points of the unit interval, and the integrals from 0 to each of them and to 1.

    Returns:
        (count,) points and the (count + 1, count) matrix that turns values there into integrals.
    """
    from numpy.polynomial import legendre

    points = legendre.leggauss(count)[0]
    values = legendre.legvander(points, count - 1)
    ends = np.append(points, 1.0)
    integrals = [legendre.legval(ends, legendre.legint(row, lbnd=-1)) for row in np.eye(count)]
    matrix = np.linalg.solve(values.T, np.array(integrals)).T
    return (points + 1.0) / 2.0, matrix / 2.0


def path_excess(arc: ArcSolution, briefest: float = 0.0) -> Array:
    """(intervals,) largest excess over a path limit between the nodes, in the limit's scale.

    The start of an interval counts: no node lies there, and nothing holds the controls. What a
    model is lenient with is left out, and intervals narrower than a ``briefest`` share of the arc.
    """
    pairs = zip(path_margins(arc), arc.arc.mesh.widths, strict=True)
    return np.array(
        [max(0.0, float(own.max(initial=0.0))) * bool(wide >= briefest) for own, wide in pairs]
    )


@lru_cache(maxsize=LAST_ARCS)
def path_margins(arc: ArcSolution) -> tuple[Array, ...]:
    """For each interval, at points in it, by what the nearest path limit is exceeded.

    In the limit's scale, and negative within it; no points where there are no limits.
    """
    mesh, bounds = arc.arc.mesh, arc.arc.path_bounds
    if bounds is None:
        return (np.zeros(0),) * len(mesh.degrees)
    fractions = np.concatenate((mesh.breaks[:-1], mesh.between()))
    values = arc.model_at(fractions)[1]
    scales = np.array([quantity.scale for quantity in arc.arc.model.path])
    lower, upper = np.array(bounds.lower), np.array(bounds.upper)
    inside = lower < upper  # an equality holds at the nodes; between them the error estimate sees
    inside[list(arc.arc.model.nodes_only)] = False
    excess = np.maximum(lower - values, values - upper)[:, inside] / scales[inside]
    worst = excess.max(axis=1, initial=-np.inf)
    owner = mesh.locate(fractions)
    return tuple(worst[owner == k] for k in range(len(mesh.degrees)))


def path_drift(arc: ArcSolution) -> Array:
    """(intervals,) largest departure from a path equality between the nodes, in its scale.

    What controls alone keep falls with the interval's width where they are smooth, and does not
    where they jump.
    """
    mesh, bounds = arc.arc.mesh, arc.arc.path_bounds
    if bounds is None:
        return np.zeros(len(mesh.degrees))
    fractions = mesh.between()
    scales = np.array([quantity.scale for quantity in arc.arc.model.path])
    wanted = np.array(bounds.lower)
    equal = wanted == np.array(bounds.upper)
    drift = np.abs(arc.model_at(fractions)[1] - wanted)[:, equal] / scales[equal]
    worst, owner = drift.max(axis=1, initial=0.0), mesh.locate(fractions)
    return np.array([worst[owner == k].max() for k in range(len(mesh.degrees))])


@dataclass(frozen=True)
class Accuracy:
    """Continuous error and path excess of the worst interval of a solution."""

    error: float
    excess: float

    @classmethod
    def of(cls, solution: Solution, briefest: float = 0.0) -> Accuracy:
        """Measure every arc; see `path_excess` for ``briefest``."""
        return cls(
            error=max(float(continuous_errors(arc).max()) for arc in solution.arcs),
            excess=max(float(path_excess(arc, briefest).max()) for arc in solution.arcs),
        )


def finer(arc: ArcSolution, rule: Refinement) -> RadauMesh:
    """The arc's mesh with more points where its error or excess is too large.

    Where a control jumps it is made straight, and cut until what is left of the jump is a short
    ramp.
    """
    mesh = arc.arc.mesh
    errors = continuous_errors(arc) / rule.tolerance
    jumping, kinks = jumps(arc), _cuts(arc, rule)
    breaks, degrees, straight = [0.0], [], []
    for k, (degree, right) in enumerate(zip(mesh.degrees, mesh.breaks[1:], strict=True)):
        pieces, new_degree = _better(degree, float(errors[k]), rule, int(kinks[k]))
        cuts = np.linspace(mesh.breaks[k], right, pieces + 1)[1:]
        breaks += [*cuts[:-1], right]
        degrees += [new_degree] * pieces
        straight += [mesh.straight[k] or bool(jumping[k])] * pieces
    return RadauMesh(breaks=tuple(breaks), degrees=tuple(degrees), straight=tuple(straight))


def _cuts(arc: ArcSolution, rule: Refinement) -> Array:
    """(intervals,) pieces that kinks and jumps ask for, 1 where there is none.

    The switching point of a limit is a kink: far from it at first, nearer with every cut. What is
    left of a jump is a ramp as long as its interval, so that the cuts it takes are known.
    """
    excess = path_excess(arc, rule.briefest) / rule.path_tolerance
    far = (excess > FAR) & (arc.arc.mesh.widths > WIDE)
    ramps = np.minimum(np.ceil(ramp_lengths(arc) / rule.longest_ramp), MOST_PIECES)
    pieces = 1.0 + ((excess > 1.0) | jumps(arc)) + far
    return np.asarray(np.maximum(pieces, ramps))


def _better(degree: int, ratio: float, rule: Refinement, cuts: int) -> tuple[int, int]:
    """(pieces, degree) that should bring an error ``ratio`` times too large inside.

    Two more points, and the error falls by about a hundred where the solution is smooth, and one
    to be sure: a round costs more. Where that is not enough, or kinks ask for ``cuts``, it is cut.
    """
    if ratio <= 1.0 and cuts == 1:
        return 1, degree
    extra = int(np.ceil(np.log10(max(ratio, 1.1))))
    if cuts == 1 and degree + extra <= rule.highest_degree:
        return 1, min(degree + extra + 1, rule.highest_degree)
    pieces = int(np.ceil(max(ratio, 1.0) ** (1.0 / (degree + 1))))
    return max(min(max(pieces, 2), 3), cuts), degree


def refine(
    problem: Problem,
    start: Guess | Solution,
    rule: Refinement,
    settings: SolverSettings = SolverSettings(),
) -> Solution:
    """Solve on better and better meshes, each from the last, until the rule is met.

    A start that is a solution of the problem is not solved for again. The first finer mesh moves
    the places where limits take hold: its barrier is the settings'. After it they stay where they
    are but for the width of an interval, and the barrier does not rise again.

    Raises:
        NotConverged: from a solve, or when the rounds are spent; carries the last iterate and the
            last mesh's solution that did converge.
    """
    known = isinstance(start, Solution) and start.solved and start.problem is problem
    solution = start if known and isinstance(start, Solution) else solve(problem, start, settings)
    warm = settings
    for _ in range(rule.rounds):
        meshes = tuple(finer(arc, rule) for arc in solution.arcs)
        if meshes == tuple(arc.mesh for arc in problem.arcs):
            return solution
        problem = remeshed(problem, meshes)
        try:
            solution, warm = solved_on(problem, solution, warm), settings.settled
        except NotConverged as failure:
            failure.solved = solution
            raise
    accuracy = Accuracy.of(solution, rule.briefest)
    if accuracy.error > rule.tolerance or accuracy.excess > rule.path_tolerance:
        coarse = NotConverged(
            replace(solution, outcome=Outcome.COARSE),
            f"Continuous error {accuracy.error:.2e}, excess over path limits {accuracy.excess:.2e}",
        )
        coarse.solved = solution
        raise coarse
    return solution


def solved_on(problem: Problem, coarser: Solution, settings: SolverSettings) -> Solution:
    """Solve on finer meshes, with the multipliers of the coarser ones, else without.

    Around a jump that has just been made straight the multipliers are wrong by their own size.

    Raises:
        NotConverged: from the second try, or from the first when its time is up.
    """
    try:
        return solve(problem, coarser, settings)
    except NotConverged as failure:
        if failure.solution.outcome is Outcome.TIME:
            raise
    return solve(problem, coarser.as_guess(), settings)


def remeshed(problem: Problem, meshes: tuple[RadauMesh, ...]) -> Problem:
    """The same problem on other meshes."""
    pairs = zip(problem.arcs, meshes, strict=True)
    return replace(problem, arcs=tuple(replace(arc, mesh=mesh) for arc, mesh in pairs))
