"""Time and answers of the main job: ``OMP_NUM_THREADS=1 python -m benchmarks.first_ascent``.

Seconds are those of the processor, which others on the machine disturb less than a clock's. First
calls are made in fresh processes, repeated calls in this one; medians of five. The answer for the
four-phase launcher is held against the published one (Betts, *Practical Methods for Optimal
Control*, 2nd ed., SIAM 2010, sec. 6.15: 7529.712412 kg).

A table of results stands in ``benchmarks/RESULTS.md``; put yours beside it, with the machine.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from statistics import median
from time import process_time

import ascentopt as ao
from ascentopt.collocation import NotConverged, Problem, RadauMesh, SolverSettings, remeshed, solve
from ascentopt.collocation.nlp.program import build
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.family_search import fly_guess
from ascentopt.optimal.guess.first_mesh import first_meshes
from ascentopt.optimal.guess.flown_arcs import as_guess
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.transcription import Transcription
from ascentopt.optimal.result.steering_table import steering_of
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.refine import refine_mesh
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.task import Task
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import four_phase_launcher, four_phase_mission

PUBLISHED = 7529.712412  # kg
REPEATS = 5

FRESH = """
from time import process_time
start = process_time()
import ascentopt as ao
imported = process_time()
from {module} import {vehicle}, {mission}
begun = process_time()
ao.optimize({vehicle}{call}, {mission}{call})
print(imported - start, process_time() - begun)
"""


def main() -> None:
    """Print one report."""
    print(f"{machine()}\n{versions()}\n")
    fresh("Turnstone", "tests.launchers", ("TURNSTONE", "PELICAN_POINT", ""))
    names = "four_phase_launcher", "four_phase_mission", "()"
    fresh("four-phase launcher", "tests.optimal.launchers", names)
    again("Turnstone", TURNSTONE, PELICAN_POINT)
    again("four-phase launcher", four_phase_launcher(), four_phase_mission())
    parts_of_the_example()
    parts()
    growth()


def machine() -> str:
    """Processor, cores and the threads that libraries may use."""
    name = platform.processor() or platform.machine()
    described = Path("/proc/cpuinfo")
    if described.exists():
        lines = described.read_text(encoding="utf-8").splitlines()
        names = [line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")]
        name = names[0] if names else name
    threads = os.environ.get("OMP_NUM_THREADS", "not set")
    return f"{platform.system()} {name}, {os.cpu_count()} cores, OMP_NUM_THREADS {threads}"


def versions() -> str:
    """Python and the libraries that take the time."""
    packages = ", ".join(f"{name} {version(name)}" for name in ("casadi", "numpy", "scipy"))
    return f"Python {platform.python_version()}, {packages}"


def fresh(name: str, module: str, words: tuple[str, str, str]) -> None:
    """Import and first `optimize` in processes of their own."""
    script = FRESH.format(module=module, vehicle=words[0], mission=words[1], call=words[2])
    rows = [[float(word) for word in _python(script).split()] for _ in range(REPEATS)]
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
        start = process_time()
        work()
        seconds.append(process_time() - start)
    return median(seconds)


def parts_of_the_example() -> None:
    """The structure of the example that wins: every step of `optimize` by itself."""
    solving = task_of(TURNSTONE, PELICAN_POINT)
    plan = replace(direct(TURNSTONE), restarts=1)
    sequence = sequence_of(TURNSTONE, PELICAN_POINT, plan)
    free = attempt_at(solving, plan)
    limited = impose_limits(solving, free)
    refined = refine_mesh(solving, limited)
    law = steering_of(refined, PELICAN_POINT)
    guess = timed(lambda: fly_guess(sequence, PELICAN_POINT))
    rows = {
        "guess": guess,
        "solve without limits on loads": timed(lambda: attempt_at(solving, plan)) - guess,
        "solve within them": timed(lambda: impose_limits(solving, free)),
        "refine": timed(lambda: refine_mesh(solving, limited)),
        "export and fly": timed(lambda: fly_and_export(solving, refined)),
    }
    print(f"\nTurnstone, {law.plan}, one step after the other, s")
    for name, seconds in rows.items():
        print(f"{name:32}{seconds:8.3f}")
    print("\n".join(f"  {line}" for line in refined.history))


def fly_and_export(solving: Task, refined: Attempt) -> None:
    """Make the table and fly it, as `optimize` does once or more."""
    law = steering_of(refined, solving.mission)
    ao.fly(solving.vehicle, solving.mission, law)


def parts() -> None:
    """The four-phase launcher by part: guess, build, solve, as one program from our own guess."""
    vehicle, mission = four_phase_launcher(), four_phase_mission()
    sequence = sequence_of(vehicle, mission, FlightPlan(inserting_stage=1))
    flown = fly_guess(sequence, mission)
    problem = Transcription(
        vehicle=vehicle, mission=mission, sequence=sequence,
        meshes=first_meshes(sequence, flown), limited_arcs=frozenset(),
    ).greatest_mass_problem()  # fmt: skip
    guessing = timed(lambda: fly_guess(sequence, mission))
    building = timed(lambda: build_all(problem))
    solution = solve(problem, as_guess(flown, mission))
    solving = timed(lambda: solve(problem, as_guess(flown, mission)))
    warm = timed(lambda: solve(problem, solution))
    print(f"\nfour-phase launcher: guess {guessing:.3f} s, build {building:.3f} s, "
          f"solve {solving:.3f} s, warm {warm:.3f} s; {len(solution.raw.x)} variables, "
          f"{solution.iterations} iterations, "
          f"{solution.objective - PUBLISHED:+.2e} kg")  # fmt: skip


def build_all(problem: Problem) -> None:
    """The program with its derivatives, which are made when they are asked for."""
    program = build.__wrapped__(problem.structure())
    for function in (program.values, program.gradient, program.jacobian, program.hessian):
        assert function.n_in() >= 2


def growth() -> None:
    """The same problem on 1, 2, 4 and 8 times as many intervals."""
    vehicle, mission = four_phase_launcher(), four_phase_mission()
    sequence = sequence_of(vehicle, mission, FlightPlan(inserting_stage=1))
    flown = fly_guess(sequence, mission)
    print("\nintervals   variables   iterations   solve s   s/iteration   kg off published")
    base = Transcription(
        vehicle=vehicle, mission=mission, sequence=sequence,
        meshes=first_meshes(sequence, flown), limited_arcs=frozenset(),
    ).greatest_mass_problem()  # fmt: skip
    for factor in (1, 2, 4, 8):
        meshes = tuple(
            RadauMesh.uniform(intervals=factor * len(a.mesh.degrees), degree=a.mesh.degrees[0])
            for a in base.arcs
        )
        problem = remeshed(base, meshes)
        try:
            solution = solve(problem, as_guess(flown, mission), SolverSettings())
        except NotConverged as failure:
            print(f"{factor:8}x   {failure}")
            continue
        seconds = timed(lambda p=problem: solve(p, as_guess(flown, mission)))  # type: ignore[misc]
        print(f"{factor:8}x{len(solution.raw.x):12}{solution.iterations:13}{seconds:10.3f}"
              f"{seconds / solution.iterations:14.4f}"
              f"{solution.objective - PUBLISHED:+23.2e}")  # fmt: skip


if __name__ == "__main__":
    main()
