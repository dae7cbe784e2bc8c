"""Neighbours of a case: what is changed, what stays, and when an answer to one is wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

import pytest

from ascentopt.errors import InfeasibleAscent
from ascentopt.mission import EllipticalOrbit, FlightLimits, Mission
from ascentopt.rocket import Vehicle
from ascentopt.rocket.performance import burns
from ascentopt.units import deg, km
from benchmarks.survey.generator import case, lift_off_push
from benchmarks.survey.judge import Judge
from benchmarks.survey.library import optimise
from benchmarks.survey.ordinary.cases import FIRST, ordinary
from benchmarks.survey.outcome import Answer, Outcome
from benchmarks.survey.pairs import WORSE, Pair, Related, Relating, enough
from benchmarks.survey.relations import Variant, looser, mirrored, scaled, variants
from benchmarks.survey.relations_table import relations_table

# Limits are loosened until they limit nothing: that is warned of.
pytestmark = pytest.mark.filterwarnings("ignore::ascentopt.UnusualInputWarning")

CASES = [case(seed) for seed in range(40)]
USED = 1000.0


def pair(used: float | None, *, both_ways: bool = False, outcome: Outcome | None = None) -> Pair:
    return Pair(
        relation="dry mass",
        outcome=outcome or Outcome.CERTIFIED,
        seconds=1.5,
        propellant_used=used,
        both_ways=both_ways,
        message="short by 3 m/s\nmore",
    )


def related(*pairs: Pair, used: float | None = USED) -> Related:
    outcome = Outcome.REFUSED if used is None else Outcome.CERTIFIED
    return Related(
        seed=5, label="a case", outcome=outcome, seconds=2.0, propellant_used=used, pairs=pairs
    )


def of(vehicle: Vehicle, mission: Mission) -> dict[str, Variant]:
    return {one.relation: one for one in variants(vehicle, mission)}


class TestVariants:
    """The neighbours themselves."""

    def test_every_case_of_both_families_has_neighbours_that_can_be_made(self) -> None:
        old = [(one.vehicle, one.mission) for one in CASES]
        new = [(one.vehicle, one.plain) for one in (ordinary(FIRST + k) for k in range(40))]
        for vehicle, mission in (*old, *new):
            names = [one.relation for one in variants(vehicle, mission)]
            assert len(set(names)) == len(names)
            assert {"dry mass", "specific impulse", "ten times", "a millionth"} <= set(names)

    def test_each_limit_is_loosened_and_removed_alone(self) -> None:
        limits = FlightLimits(dynamic_pressure=4e4, angle_of_attack=3.1)
        found = dict(looser(limits))
        assert len(found) == 6  # q alpha has a limit by default
        assert found["dynamic pressure looser"] == replace(limits, dynamic_pressure=4.2e4)
        assert found["dynamic pressure removed"] == replace(limits, dynamic_pressure=None)
        assert found["angle of attack looser"].angle_of_attack == pi

    def test_a_better_vehicle_has_more_ideal_speed(self) -> None:
        for drawn in CASES:
            found = of(drawn.vehicle, drawn.mission)
            for name in ("dry mass", "specific impulse"):
                assert found[name].vehicle.ideal_delta_v > drawn.vehicle.ideal_delta_v
                assert found[name].vehicle.propellant_mass == pytest.approx(
                    drawn.vehicle.propellant_mass, rel=1e-12
                )

    def test_a_wider_throttle_and_a_restart_change_nothing_at_full_thrust(self) -> None:
        for drawn in CASES:
            found = of(drawn.vehicle, drawn.mission)
            for name in ("throttle wider", "a restart more"):
                assert burns(found[name].vehicle) == burns(drawn.vehicle)
                assert found[name].vehicle != drawn.vehicle

    def test_ten_times_as_heavy_every_acceleration_stays(self) -> None:
        for drawn in CASES:
            large = scaled(drawn.vehicle)
            assert large.lift_off_mass == pytest.approx(10.0 * drawn.vehicle.lift_off_mass)
            assert large.ideal_delta_v == pytest.approx(drawn.vehicle.ideal_delta_v, rel=1e-9)
            pushes = (lift_off_push(one, drawn.mission) for one in (large, drawn.vehicle))
            assert next(pushes) == pytest.approx(next(pushes), rel=1e-9)

    def test_a_mirror_keeps_the_inclination_and_turns_what_counts_from_the_node(self) -> None:
        orbit = EllipticalOrbit(
            periapsis_altitude=300 * km, apoapsis_altitude=900 * km, inclination=70 * deg,
            ascending_node=-20 * deg, argument_of_periapsis=30 * deg,
        )  # fmt: skip
        mission = replace(CASES[17].mission, orbit=orbit)
        seen = mirrored(mission)
        assert seen.site.latitude == -mission.site.latitude
        assert seen.orbit.inclination == orbit.inclination
        assert seen.orbit.ascending_node == pytest.approx(160 * deg)
        assert getattr(seen.orbit, "argument_of_periapsis", None) == pytest.approx(-150 * deg)


class TestPairs:
    """When an answer is wrong."""

    @pytest.mark.parametrize(
        ("used", "both_ways", "wrong"),
        [
            (USED * (1 + 2 * WORSE), False, True),
            (USED * (1 + 0.5 * WORSE), False, False),
            (USED * (1 - 2 * WORSE), False, False),
            (USED * (1 - 2 * WORSE), True, True),
            (USED * (1 - 0.5 * WORSE), True, False),
        ],
    )
    def test_by_propellant(self, used: float, both_ways: bool, wrong: bool) -> None:  # noqa: FBT001
        one = pair(used, both_ways=both_ways)
        assert one.wrong(USED) is wrong
        assert related(one).broken() == ([one] if wrong else [])

    def test_by_outcome(self) -> None:
        refused = pair(None, outcome=Outcome.REFUSED)
        doubtful = pair(USED, outcome=Outcome.UNCERTIFIED)
        assert related(refused, pair(USED), doubtful).broken() == [refused, doubtful]

    def test_lines_come_back(self) -> None:
        one = related(pair(USED), pair(None, outcome=Outcome.REFUSED))
        assert Related.from_json(one.to_json()) == one

    def test_enough_are_solved(self) -> None:
        def run(seeds: range) -> list[Related]:
            return [related(used=USED if seed % 3 == 0 else None) for seed in seeds]

        assert sum(one.solved for one in enough(0, 4, run)) == 4
        assert len(enough(1, 2, lambda seeds: [related(used=None) for _ in seeds])) == 20


class TestRelating:
    """From a case to its pairs."""

    @staticmethod
    def proportional(factor: float) -> Callable[[Vehicle, Mission], Answer]:
        def answer(vehicle: Vehicle, mission: Mission) -> Answer:
            used = factor * vehicle.lift_off_mass
            return Answer(certified=True, verdict="proved", propellant_used=used)

        return answer

    def test_a_library_that_answers_in_proportion_breaks_nothing(self) -> None:
        found = Relating(Judge(self.proportional(0.5)))(17)
        assert found.solved
        assert len(found.pairs) > 5
        assert found.broken() == []

    def test_what_is_refused_has_no_neighbours(self) -> None:
        def refuse(vehicle: Vehicle, mission: Mission) -> Answer:
            raise InfeasibleAscent("no", shortfall=3.0)

        found = Relating(Judge(refuse))(17)
        assert not found.solved
        assert found.pairs == ()

    def test_the_library_itself_scales(self) -> None:
        lunar = (one for one in CASES if one.mission.body.name == "Moon")
        drawn = next(one for one in lunar if solvable(one.label))
        judge = Judge(optimise)
        own = judge.answer(drawn)
        large = judge.answer(replace(drawn, vehicle=scaled(drawn.vehicle)))
        assert own.propellant_used is not None
        assert large.propellant_used == pytest.approx(10.0 * own.propellant_used, rel=WORSE)


def solvable(label: str) -> bool:
    return float(label.removesuffix(" of the need").rsplit(" ", 1)[1]) > 1.1


class TestTable:
    """What a reader sees."""

    def test_counts_and_broken_pairs(self) -> None:
        bad, lost = pair(1.01 * USED), pair(None, outcome=Outcome.REFUSED)
        text = relations_table([related(pair(USED), bad, lost), related(used=None)], "Title")
        assert "1 solved cases of 2" in text
        assert "| dry mass | 3 | 1 | 1.0e-02 | 1 | 1.50 |" in text
        assert "| 5 | dry mass | 1000.000 | 1010.000 | +1.00e-02 |  | a case |" in text
        assert "-> refused with a number: short by 3 m/s | a case |" in text

    def test_nothing_is_broken(self) -> None:
        assert "None." in relations_table([related(pair(USED))], "Title")
