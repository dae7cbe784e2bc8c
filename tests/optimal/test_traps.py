"""Traps of rocket ascents by collocation, each shown to exist where it can be, and to be avoided.

Two more are held elsewhere: a singular arc with its thrust left free at the nodes is optimistic
(tests/collocation/test_goddard.py), and a stage takes its unburned propellant along
(tests/flight/phases/test_builder.py, for what one sequence says).
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import casadi as ca
import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import ArcGuess, Bounds, Guess, Point, RadauMesh, solve
from ascentopt.collocation.nlp.program import build
from ascentopt.collocation.nlp.vectors import limits, start_vector
from ascentopt.collocation.solution import Raw, Solution
from ascentopt.collocation.solver.readback import read_back
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import direct
from ascentopt.flight.simulation.simulate import fly
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.family_search import InitialGuess
from ascentopt.optimal.optimize import Effort, task_of
from ascentopt.optimal.problem.phase_model import arc_model
from ascentopt.optimal.problem.transcription import BETWEEN_NODES, Transcription, clearance
from ascentopt.optimal.result.certificate import certify
from ascentopt.optimal.result.steering_table import steering_of
from ascentopt.optimal.solve.attempt_at import attempt_at, attempt_from_changed_guess
from ascentopt.optimal.structure.enumeration import plans
from ascentopt.optimal.task import Task
from ascentopt.units import kPa
from tests.optimal.launchers import (
    earth_mission,
    four_phase_launcher,
    four_phase_mission,
    lander,
    moon_mission,
)
from tests.optimal.problem.test_limits import vehicle

NODE = 5
"""Of the last burn: in the middle, where the end of the burn can still make up for it."""

MISSED = 5.0
"""m. Half a per cent of the scale of the clearance, a kilometre: what refinement lets it miss."""


def solver(of: ao.Vehicle, mission: ao.Mission) -> Task:
    return task_of(of, mission)


@cache
def launched() -> Attempt:
    four = solver(four_phase_launcher(), four_phase_mission())
    return attempt_at(four, next(iter(plans(four.vehicle, four.mission))))


def backwards(solution: Solution) -> Solution:
    """The stationary point near the solution with one node's thrust turned round.

    Newton's method on the first-order conditions, which no descent guards: all constraints of
    this problem are equations, and no bound acts.
    """
    program, raw = build(solution.problem.structure()), solution.raw
    bounds, arc = limits(solution.problem, program.layout), program.layout.arcs[-1]
    free = np.flatnonzero(bounds.lbx < bounds.ubx)
    x, weights = raw.x.copy(), raw.lam_g.copy()
    x[arc.node_variables[NODE, 7:10]] *= -1.0
    weights[arc.node_rows[NODE, 7]] *= -1.0
    for _ in range(8):
        rows, jacobian = (np.array(ca.DM(v)) for v in program.jacobian(x, raw.p))
        upper = ca.DM(program.hessian(x, raw.p, 1.0, weights))
        hessian, jacobian = np.array(ca.triu2symm(upper))[np.ix_(free, free)], jacobian[:, free]
        slope = np.array(program.gradient(x, raw.p)[1]).ravel()[free] + jacobian.T @ weights
        miss = rows.ravel() - bounds.lbg
        system = np.block([[hessian, jacobian.T], [jacobian, np.zeros((len(miss),) * 2)]])
        step = np.linalg.solve(system, -np.concatenate((slope, miss)))
        x[free] += step[: len(free)]
        weights += step[len(free) :]
    vectors = Raw(x=x, lam_g=weights, lam_x=raw.lam_x, p=raw.p)
    return read_back(solution.problem, program, bounds, vectors, solution.outcome, 0)


def test_one_node_that_thrusts_backwards_is_stationary_and_loses_its_certificate() -> None:
    attempt = launched()
    trapped = backwards(attempt.found)
    assert trapped.residuals.primal < 1e-10
    assert trapped.residuals.dual < 1e-6
    assert trapped.objective < attempt.found.objective - 100.0
    wrong = replace(attempt, solution=trapped)
    flight = fly(
        four_phase_launcher(), four_phase_mission(), steering_of(attempt, four_phase_mission())
    )
    found = certify(wrong, flight, four_phase_mission().limits)
    assert "primer_angle" in found.beyond()
    assert found.primer_angle == pytest.approx(np.pi, abs=1e-6)


def test_a_start_with_a_node_backwards_comes_back() -> None:
    found = launched().found
    controls = found.arcs[-1].controls.copy()
    controls[NODE] *= -1.0
    turned = (*found.arcs[:-1], replace(found.arcs[-1], controls=controls))
    again = solve(found.problem, replace(found, arcs=turned).as_guess(), Effort().settings)
    assert again.objective == pytest.approx(found.objective, rel=1e-9)


def test_a_limit_on_dynamic_pressure_alone_is_met_by_flying_sideways() -> None:
    """Where an engine cannot throttle; the limit on q-alpha, on by default, forbids it."""
    most = ao.FlightLimits().q_alpha
    assert most is not None
    alone = ao.FlightLimits(dynamic_pressure=44 * kPa, q_alpha=None)
    sideways = ao.optimize(vehicle(), replace(earth_mission(), limits=alone))
    straight = ao.optimize(vehicle(), earth_mission(dynamic_pressure=44 * kPa))
    assert np.nanmax(sideways.trajectory.q_alpha) > 2.0 * most
    assert np.nanmax(straight.trajectory.q_alpha) < 1.015 * most
    assert straight.final_mass < sideways.final_mass


@pytest.mark.slow
def test_without_air_the_best_ascent_hugs_the_ground_and_keeps_its_clearance() -> None:
    mission = moon_mission()
    restarted = replace(direct(lander()), restarts=1)
    coast = attempt_at(solver(lander(), mission), restarted).found.arcs[2]
    heights = np.linalg.norm(coast.states[:, :3], axis=1) - mission.body.radius
    assert heights.min() == pytest.approx(clearance(mission) + BETWEEN_NODES, abs=1.0)
    limited = [quantity.name for quantity in coast.arc.model.path]
    would_be_lower = coast.path_multipliers[:, limited.index("height above the clearance")]
    assert would_be_lower.min() < -1e-6
    ascent = ao.optimize(lander(), mission)
    risen = ascent.trajectory.time > ascent.events["pitch-over"].time
    assert ascent.trajectory.altitude[risen].min() > clearance(mission) - MISSED


def test_a_start_on_the_ground_leaves_the_height_an_interior() -> None:
    """``h >= 0`` with ``h(0) = 0`` has none: without a vertical rise the start is on the bound."""
    flat = replace(moon_mission(), vertical_rise=None)
    ascent = ao.optimize(lander(), flat)
    assert not ascent.certificate.beyond(), ascent.certificate
    assert ascent.trajectory.altitude.min() > -MISSED
    risen = ao.optimize(lander(), replace(flat, vertical_rise=20.0))
    assert ascent.propellant_used <= risen.propellant_used + 0.01


@pytest.mark.parametrize("radius", [1.0, 1e3, 6e6, 7e6, 1e9])
@pytest.mark.parametrize("speed", [0.0, 1e5])
def test_iterates_far_from_any_flight_have_finite_equations(radius: float, speed: float) -> None:
    """Below the ground, beyond the tables, far too fast, as light as the bounds allow."""
    for arc, bounds in bounded_arcs():
        model = arc_model(arc.kind, ())
        least = bounds.lower[6]
        assert least > 0.0
        state = ca.SX.sym("state", len(model.states))
        control = ca.SX.sym("control", len(model.controls))
        rates = ca.vertcat(model.rates(Point(1.0, 1.0, state, control, ca.DM(list(arc.numbers)))))
        both = ca.Function("rates", [state, control], [rates, ca.jacobian(rates, state)])
        at = [radius, 0.3 * radius, 0.1 * radius, speed, -speed, 0.5 * speed, least]
        values = both(at, [0.0] * len(model.controls))
        assert all(np.all(np.isfinite(np.array(ca.DM(value)))) for value in values)


def bounded_arcs() -> list[tuple[FlightArc, Bounds]]:
    case = vehicle(), earth_mission()
    sequence = sequence_of(*case, direct(case[0]))
    transcription = Transcription(
        vehicle=case[0],
        mission=case[1],
        sequence=sequence,
        meshes=(RadauMesh.uniform(intervals=1, degree=3),) * len(sequence.arcs),
        limited_arcs=frozenset(sequence.names),
    )
    problem = transcription.greatest_mass_problem()
    bounds = [arc.state_bounds for arc in problem.arcs if arc.state_bounds is not None]
    return list(zip(sequence.arcs, bounds, strict=True))


def test_unburned_propellant_is_never_carried_over() -> None:
    """A first stage that stopped half full would take the other half along."""
    sequence = sequence_of(vehicle(), earth_mission(), direct(vehicle()))
    joint = next(arc.joint for arc in sequence.arcs if arc.joint.event == "first separation")
    half_full = vehicle().mass_above(0) + 4.8e3 + 31e3
    assert joint.mass(half_full) == vehicle().mass_above(0)
    ascent = ao.optimize(vehicle(), earth_mission())
    after = ascent.events["first separation"].mass_after
    assert after == pytest.approx(ascent.vehicle.mass_above(0), abs=1e-6)
    together = ascent.propellant_used + ascent.propellant_margin
    assert together == pytest.approx(ascent.vehicle.propellant_mass, abs=1e-6)


@pytest.mark.parametrize("of", [vehicle(), four_phase_launcher(), lander()], ids=lambda v: v.name)
def test_the_guess_points_somewhere_everywhere(of: ao.Vehicle) -> None:
    """A direction of length zero has no way to become one of length one."""
    mission = {"Sanderling": moon_mission(), "Godwit": earth_mission()}.get(
        of.name, four_phase_mission()
    )
    starts: list[tuple[Sequence, Guess]] = []

    def limited_arcs(sequence: Sequence, guess: Guess) -> Guess:
        starts.append((sequence, guess))
        return guess

    attempt_from_changed_guess(solver(of, mission), direct(of), InitialGuess(), limited_arcs)
    ((sequence, guess),) = starts
    for arc, own in zip(sequence.arcs, guess.arcs, strict=True):
        if arc.kind.guidance is Guidance.STEERED:
            assert np.linalg.norm(own.controls[:, :3], axis=1) == pytest.approx(1.0, abs=0.05)


def test_a_direction_of_length_zero_is_a_dead_end() -> None:
    """Why: the length's gradient vanishes there, so the constraint cannot be improved."""
    problem = launched().found.problem
    program = build(problem.structure())
    guess = launched().found.as_guess()
    still = tuple(
        ArcGuess(arc.fractions, arc.states, np.zeros_like(arc.controls)) for arc in guess.arcs
    )
    x = start_vector(problem, program.layout, replace(guess, arcs=still))
    _, jacobian = program.jacobian(x, launched().found.raw.p)
    rows = program.layout.arcs[-1].node_rows[:, 7]
    assert np.abs(np.array(ca.DM(jacobian))[rows]).max() == 0.0


def test_the_first_instant_of_an_arc_has_no_control_that_is_not_collocated() -> None:
    """A control there would be free to do what no equation sees, and be credited for it."""
    found = launched().found
    for arc, place in zip(found.arcs, build(found.problem.structure()).layout.arcs, strict=True):
        assert len(arc.controls) == place.nodes == len(arc.times) - 1
        assert len(place.start) == place.states
        assert arc.arc.mesh.fractions()[0] > 0.0
        assert arc.arc.mesh.fractions()[-1] == 1.0
