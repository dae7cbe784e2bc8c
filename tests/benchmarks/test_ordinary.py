"""Ordinary missions: what is drawn, whatever the library takes, and how it is told."""

from __future__ import annotations

from collections import Counter
from math import pi

import pytest

from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.units import deg, km
from ascentopt.world import earth
from benchmarks.survey.bound import impulsive_bound, two_impulses
from benchmarks.survey.features import by_feature
from benchmarks.survey.judge import Judge
from benchmarks.survey.ordinary.aims import Aim, stationary_altitude
from benchmarks.survey.ordinary.cases import FIRST, Ordinary, below_latitude, ordinary
from benchmarks.survey.outcome import Answer, Outcome, Row, Sighting

CASES = [ordinary(FIRST + k) for k in range(120)]
PINNED_LABEL = "Moon from 0.0 deg, liquid(2), high 9594 km, 6.3 deg, 0.84 of the need"
PINNED_MASS = 170.55725652825146


def takes_all(vehicle: Vehicle, mission: Mission) -> Answer:
    return Answer(certified=True, verdict="proved", propellant_used=1.0)


def never(vehicle: Vehicle, mission: Mission) -> Sighting:
    raise AssertionError("not reached: there is no mission to search")


def test_a_seed_is_the_same_case_for_ever() -> None:
    assert ordinary(FIRST + 17) == CASES[17]
    # Written down once: a change here changes every published row.
    assert CASES[17].label == PINNED_LABEL
    assert CASES[17].vehicle.lift_off_mass == pytest.approx(PINNED_MASS, rel=1e-9)


def test_what_the_first_family_left_out_is_drawn() -> None:
    found = Counter(name for one in CASES for name in one.features)
    wanted = (
        "high", "stationary", "plane below the latitude", "near a pole", "several restarts",
        "lower stage restarts", "fixed thrust under a limit on acceleration", "low thrust",
        "throttle without a limit on acceleration", "fast spin", "small planet", "apsides",
        "axis and eccentricity", "apoapsis alone", "periapsis alone", "axis alone",
        "eccentricity alone", "apsides, argument given",
    )  # fmt: skip
    assert {name: found[name] for name in wanted if found[name] < 2} == {}


def test_fast_planets_turn_in_two_to_six_hours_or_as_fast_as_they_hold_together() -> None:
    days = [
        2 * pi / abs(one.plain.body.rotation_rate) / 3600.0
        for one in CASES
        if "fast spin" in one.features
    ]
    assert days
    assert all(2.0 <= day <= 6.0 for day in days)


def test_limits_on_acceleration_leave_room_for_every_ignition() -> None:
    for one in CASES:
        limit, vehicle = one.plain.limits.axial_acceleration, one.vehicle
        if limit is not None:
            for index, stage in enumerate(vehicle.stages):
                mass = vehicle.mass_above(index) + stage.mass
                assert stage.engine.mean_thrust < limit * mass


def test_the_stationary_altitude_of_the_earth() -> None:
    # 35786 km: ITU-R S.484 and any textbook.
    assert stationary_altitude(earth()) == pytest.approx(35786 * km, rel=1e-4)


def test_a_plane_below_the_latitude_costs_its_turn_and_the_bound_leaves_it_out() -> None:
    turned = [one for one in CASES if "plane below the latitude" in one.features]
    for one in turned:
        assert below_latitude(one.plain, one.aim)
        assert one.bound == pytest.approx(two_impulses(one.plain, None))
        assert two_impulses(one.plain, one.aim.inclination) > one.bound


def test_elsewhere_the_bound_is_that_of_the_plane() -> None:
    one = next(
        one
        for one in CASES
        if one.aim.inclination is not None and not below_latitude(one.plain, one.aim)
        if one.aim.circular
    )
    assert one.bound == impulsive_bound(one.mission)


def test_an_ellipse_has_no_other_elements_than_its_name_says() -> None:
    for one in CASES:
        alone = one.aim.kind.split(" alone")[0]
        if alone != one.aim.kind:
            shape = set(one.aim.elements) - {"argument_of_periapsis"}
            assert len(shape) == 1
            assert alone.split()[0] in shape.pop()


class TestRefusedByTheLibrary:
    """What the library does not take is drawn all the same, and is an outcome."""

    @staticmethod
    def impossible(seed: int) -> Ordinary:
        one = CASES[0]
        aim = Aim(kind="apsides", low=1e6, high=2e6, elements={"eccentricity": 2.0})
        return Ordinary(
            seed=seed, vehicle=one.vehicle, plain=one.plain, aim=aim, bound=1.0, label="no orbit",
            features=("apsides",),
        )  # fmt: skip

    def test_the_row_says_what_the_library_says(self) -> None:
        row = Judge(takes_all, never, self.impossible)(3)
        assert row.outcome is Outcome.REJECTED
        assert "eccentricity" in row.message
        assert row.features == ("apsides",)

    def test_the_mission_is_made_when_it_is_asked_for(self) -> None:
        one = self.impossible(3)
        with pytest.raises(InputError):
            _ = one.mission


def test_rows_keep_their_features_and_the_table_counts_them() -> None:
    row = Judge(takes_all, family=lambda seed: CASES[0])(FIRST)
    assert Row.from_json(row.to_json()) == row
    table = by_feature([row])
    assert all(f"| {name} | 1 | 1 | 0 |" in table for name in CASES[0].features)


def test_the_first_family_has_no_features_to_tell() -> None:
    row = Judge(takes_all, family=lambda seed: CASES[0])(FIRST)
    plain = Row(seed=1, label="", outcome=row.outcome, seconds=1.0, ideal_delta_v=1.0, bound=1.0)
    assert by_feature([plain]) == ""


def test_near_a_pole_there_are_planes_to_match() -> None:
    polar = [one for one in CASES if abs(one.plain.site.latitude) > 80 * deg]
    assert polar
    assert any((one.aim.inclination or 0.0) > 80 * deg for one in polar)
