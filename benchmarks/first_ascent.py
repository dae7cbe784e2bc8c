"""Time and answers of the main job: ``python -m benchmarks.first_ascent``.

First calls are made in fresh processes, repeated calls in this one; medians of five. The answer for
the four-phase launcher is held against the published one (Betts, *Practical Methods for Optimal
Control*, 2nd ed., SIAM 2010, sec. 6.15: 7529.712412 kg).
"""

from __future__ import annotations

import platform
import subprocess
import sys
from collections.abc import Callable
from importlib.metadata import version
from statistics import median
from time import perf_counter

import ascentopt as ao
from ascentopt.collocation import NotConverged, RadauMesh, SolverSettings, remeshed, solve
from ascentopt.collocation.program import build
from ascentopt.flight.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.first_mesh import first_meshes
from ascentopt.optimal.flown import as_guess
from ascentopt.optimal.guess import fly_guess
from ascentopt.optimal.transcription import Transcription
from examples.first_ascent import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import four_phase_launcher, four_phase_mission

PUBLISHED = 7529.712412  # kg
REPEATS = 5

FRESH = """
from time import perf_counter
start = perf_counter()
import ascentopt as ao
imported = perf_counter()
from {module} import {vehicle}, {mission}
begun = perf_counter()
ao.optimize({vehicle}{call}, {mission}{call})
print(imported - start, perf_counter() - begun)
"""


def main() -> None:
    """Print one report."""
    packages = ", ".join(f"{name} {version(name)}" for name in ("casadi", "numpy", "scipy"))
    print(f"Python {platform.python_version()}, {packages}, {platform.machine()}\n")
    fresh("Turnstone", "examples.first_ascent", ("TURNSTONE", "PELICAN_POINT", ""))
    names = "four_phase_launcher", "four_phase_mission", "()"
    fresh("four-phase launcher", "tests.optimal.launchers", names)
    again("Turnstone", TURNSTONE, PELICAN_POINT)
    again("four-phase launcher", four_phase_launcher(), four_phase_mission())
    parts()
    growth()


def fresh(name: str, module: str, words: tuple[str, str, str]) -> None:
    """Import and first `optimize` in processes of their own."""
    script = FRESH.format(module=module, vehicle=words[0], mission=words[1], call=words[2])
    rows = [
        [float(word) for word in _python(script).split()] for _ in range(REPEATS)
    ]
    imported, solved = (median(column) for column in zip(*rows, strict=True))
    print(f"{name}: import {imported:.3f} s, first optimize {solved:.3f} s (fresh process)")


def _python(script: str) -> str:
    command = [sys.executable, "-c", script]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return done.stdout


def again(name: str, vehicle: ao.Vehicle, mission: ao.Mission) -> None:
    """Repeated `optimize`, programs kept."""
    ascent = ao.optimize(vehicle, mission)
    seconds = timed(lambda: ao.optimize(vehicle, mission))
    print(f"{name}: optimize again {seconds:.3f} s; {ascent.final_mass:.6f} kg in orbit, "
          f"{ascent.certificate.verdict.name.lower()}, misses by "
          f"{ascent.certificate.position_miss:.2f} m and "
          f"{ascent.certificate.velocity_miss:.4f} m/s")  # fmt: skip


def timed(work: Callable[[], object]) -> float:
    """Median seconds."""
    seconds = []
    for _ in range(REPEATS):
        start = perf_counter()
        work()
        seconds.append(perf_counter() - start)
    return median(seconds)


def parts() -> None:
    """The four-phase launcher by part: guess, build, solve, as one program from our own guess."""
    vehicle, mission = four_phase_launcher(), four_phase_mission()
    sequence = sequence_of(vehicle, mission, FlightPlan(inserting_stage=1))
    flown = fly_guess(sequence, mission, None)
    problem = Transcription(
        vehicle=vehicle, mission=mission, sequence=sequence,
        meshes=first_meshes(sequence, flown), watched=frozenset(),
    ).most_mass()  # fmt: skip
    guessing = timed(lambda: fly_guess(sequence, mission, None))
    building = timed(lambda: build.__wrapped__(problem.structure()))
    solution = solve(problem, as_guess(flown))
    solving = timed(lambda: solve(problem, as_guess(flown)))
    warm = timed(lambda: solve(problem, solution))
    print(f"\nfour-phase launcher: guess {guessing:.3f} s, build {building:.3f} s, "
          f"solve {solving:.3f} s, warm {warm:.3f} s; {len(solution.raw.x)} variables, "
          f"{solution.iterations} iterations, "
          f"{solution.objective - PUBLISHED:+.2e} kg")  # fmt: skip


def growth() -> None:
    """The same problem on 1, 2, 4 and 8 times as many intervals."""
    vehicle, mission = four_phase_launcher(), four_phase_mission()
    sequence = sequence_of(vehicle, mission, FlightPlan(inserting_stage=1))
    flown = fly_guess(sequence, mission, None)
    print("\nintervals   variables   iterations   solve s   s/iteration   kg off published")
    base = Transcription(
        vehicle=vehicle, mission=mission, sequence=sequence,
        meshes=first_meshes(sequence, flown), watched=frozenset(),
    ).most_mass()  # fmt: skip
    for factor in (1, 2, 4, 8):
        meshes = tuple(
            RadauMesh.uniform(intervals=factor * len(a.mesh.degrees), degree=a.mesh.degrees[0])
            for a in base.arcs
        )
        problem = remeshed(base, meshes)
        try:
            solution = solve(problem, as_guess(flown), SolverSettings())
        except NotConverged as failure:
            print(f"{factor:8}x   {failure}")
            continue
        seconds = timed(lambda p=problem: solve(p, as_guess(flown)))  # type: ignore[misc]
        print(f"{factor:8}x{len(solution.raw.x):12}{solution.iterations:13}{seconds:10.3f}"
              f"{seconds / solution.iterations:14.4f}"
              f"{solution.objective - PUBLISHED:+23.2e}")  # fmt: skip


if __name__ == "__main__":
    main()
