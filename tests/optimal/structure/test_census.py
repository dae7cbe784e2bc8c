"""What an answer was compared with adds up, and costs its word where something is not settled."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.errors import UnconfirmedAscent
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt, Standing
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.result.assembly import confirmed
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.structure.census import Census, Grounds, census, open_attempts
from ascentopt.units import deg, km
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import lander, moon_mission
from tests.optimal.three_stages import launch_to

SETTLED = Census(solved=2, bounded=1, left_out=("a coast more: gains -3 kg",), open=())


@cache
def circle() -> ao.Ascent:
    return ao.optimize(TURNSTONE, PELICAN_POINT)


@cache
def steep() -> ao.Ascent:
    """Both headings reach it."""
    orbit = ao.CircularOrbit(altitude=500 * km, inclination=97 * deg)
    light = replace(TURNSTONE, payload_mass=500.0)
    return ao.optimize(light, launch_to(orbit, 30 * deg))


def compared(ascent: ao.Ascent) -> Census:
    assert ascent.certificate.structures is not None
    return ascent.certificate.structures


@pytest.mark.parametrize("flown", [circle, steep])
def test_the_structures_of_an_answer_add_up(flown: Callable[[], ao.Ascent]) -> None:
    ascent = flown()
    count = compared(ascent)
    tried = [one for one in ascent.candidates if one.standing is not Standing.SKIPPED]
    assert count.solved >= 1
    assert count.solved + count.bounded + len(count.open) == len(tried)
    total = count.solved + count.bounded + len(count.left_out) + len(count.open)
    assert f"structures: {total}, {count.solved} solved" in str(ascent.certificate)


@pytest.mark.parametrize("flown", [circle, steep])
def test_no_candidate_that_is_beaten_shows_less_propellant_than_the_best(
    flown: Callable[[], ao.Ascent],
) -> None:
    best, *others = flown().candidates
    used = [one.propellant_used for one in others if one.propellant_used is not None]
    assert best.standing is Standing.BEST
    assert used
    assert min(used) >= (best.propellant_used or 0.0) > 0.0


def test_the_next_best_is_told_with_its_distance() -> None:
    """The other heading: first meshes agree on the difference to some grams."""
    count = compared(steep())
    best, *others = (one for one in steep().candidates if not one.at_least)
    second = min(others, key=lambda one: one.propellant_used or 0.0)
    assert count.solved == 2
    assert count.next_best == str(second.plan)
    assert best.propellant_used is not None
    assert second.propellant_used is not None
    apart = second.propellant_used - best.propellant_used
    assert count.distance == pytest.approx(apart, abs=0.05)
    assert f"{count.distance:.2f} kg more" in str(count)


@pytest.mark.parametrize("flown", [circle, steep])
def test_what_is_left_out_says_what_it_would_gain(flown: Callable[[], ao.Ascent]) -> None:
    """And none of it gains: a first-order gain above zero is no reason to leave it out."""
    left_out = compared(flown()).left_out
    assert left_out
    for one in left_out:
        _, why = one.split(": ", maxsplit=1)
        assert len(why) > 10
        if "gains" in why:
            assert "gains -" in why


def with_structures(structures: Census) -> ao.Ascent:
    ascent = circle()
    return replace(ascent, certificate=replace(ascent.certificate, structures=structures))


def test_a_structure_that_is_open_costs_the_word_certified() -> None:
    certificate = with_structures(replace(SETTLED, open=("burn, coast, burn",))).certificate
    assert certificate.verdict is Verdict.UNSETTLED
    assert "certificate: unsettled" in str(certificate)
    assert "open: burn, coast, burn" in str(certificate)
    assert not certificate.beyond()


def test_the_structure_of_the_answer_is_not_open_because_one_start_failed() -> None:
    plan = FlightPlan(inserting_stage=0, restarts=1)
    solved = attempt_at(task_of(lander(), moon_mission()), plan)
    failed = replace(solved, solution=None, shortfall=None)
    assert solved.reached
    assert census(solved, [failed], Grounds(worth=0.0)).open == ()


def test_a_bound_that_nobody_set_costs_it_too() -> None:
    acts = replace(SETTLED, active_bounds=("the coast ends at 6000 s",))
    certificate = with_structures(acts).certificate
    assert certificate.verdict is Verdict.UNSETTLED
    assert "acts, though nobody set it: the coast ends at 6000 s" in str(certificate)


def test_a_settled_census_keeps_it_and_a_number_beyond_says_more_than_an_open_structure() -> None:
    assert with_structures(SETTLED).certificate.verdict is Verdict.CERTIFIED
    unsettled = with_structures(replace(SETTLED, open=("direct insertion",))).certificate
    assert replace(unsettled, position_miss=20.0).verdict is Verdict.DOUBTFUL


@pytest.mark.parametrize("number", ["position_miss", "velocity_miss", "limit_excess"])
def test_what_its_own_flight_does_not_bear_out_is_no_answer(number: str) -> None:
    """15 km, 5 m/s, or a fifth of a limit."""
    found = circle().certificate
    far = {
        "position_miss": replace(found, position_miss=15e3),
        "velocity_miss": replace(found, velocity_miss=5.0),
        "limit_excess": replace(found, limit_excess=0.2),
    }
    lost = replace(circle(), certificate=far[number])
    with pytest.raises(UnconfirmedAscent, match=number.replace("_", " ")) as caught:
        confirmed(lost)
    assert caught.value.best is lost
    assert isinstance(caught.value, ao.InfeasibleAscent)


def test_an_answer_that_is_a_little_doubtful_is_handed_out_as_such() -> None:
    doubtful = replace(circle(), certificate=replace(circle().certificate, position_miss=50.0))
    assert confirmed(doubtful) is doubtful
    assert doubtful.certificate.verdict is Verdict.DOUBTFUL
    assert confirmed(circle()) is circle()


@cache
def landed() -> Attempt:
    """Two burns of the lander."""
    return attempt_at(task_of(lander(), moon_mission()), FlightPlan(inserting_stage=0, restarts=1))


WORTH = 1.0
"""kg by which a structure may promise more than the answer without leaving it open."""

OTHERS = st.builds(
    lambda plan, more, creeps, known: (plan, more, creeps, known),
    st.builds(
        FlightPlan,
        inserting_stage=st.just(0),
        restarts=st.integers(0, 2),
        southward=st.booleans(),
        throttling=st.sampled_from([(), (0,)]),
    ),
    st.floats(-50.0, 50.0),
    st.booleans(),
    st.booleans(),
)


def other(plan: FlightPlan, more: float, *, creeps: bool, known: bool) -> Attempt:
    """A structure that leaves so much more than the lander's, or of which nothing is known.

    One that ``creeps`` may have yet more: the solver stopped short of its greatest mass.
    """
    best = replace(landed(), plan=plan, keeps_limits=True)
    if not known:
        return replace(best, solution=None, shortfall=None, keeps_limits=False)
    residuals = replace(best.found.residuals, dual=1e-2 if creeps else 1e-9)
    flight = replace(best.found, objective=best.found.objective + more, residuals=residuals)
    return replace(best, solution=flight)


@given(st.lists(OTHERS, max_size=6))
def test_the_next_best_is_none_that_is_open(
    drawn: list[tuple[FlightPlan, float, bool, bool]],
) -> None:
    """What is open may be better than the answer: a distance to it is none."""
    others = [other(plan, more, creeps=creeps, known=known) for plan, more, creeps, known in drawn]
    found = census(landed(), others, Grounds(worth=WORTH))
    still = open_attempts(landed(), others, WORTH)
    assert found.open == tuple(str(one.plan) for one in still)
    settled = [one for one in others if one.reached and one not in still]
    assert bool(found.next_best) is bool(settled)
    if settled:
        nearest = max(settled, key=lambda one: one.unspent)
        assert found.next_best == nearest.plan.beside([landed().plan])
        assert found.distance == pytest.approx(landed().unspent - nearest.unspent, abs=1e-9)
    ways_of_its_own = [one for one in settled if one.plan != landed().plan]
    assert all(one.unspent <= landed().unspent + WORTH for one in ways_of_its_own)


@pytest.mark.parametrize(("gain", "still"), [(0.5 * WORTH, 0), (2.0 * WORTH, 1)])
def test_what_reaches_the_orbit_with_more_left_is_open(gain: float, still: int) -> None:
    """Its flight was not confirmed, or it would be the answer."""
    found = other(FlightPlan(inserting_stage=0, southward=True), gain, creeps=False, known=True)
    assert len(open_attempts(landed(), [found], WORTH)) == still
    told = census(landed(), [found], Grounds(worth=WORTH))
    assert len(told.open) == still
    assert bool(told.next_best) is not bool(still)
