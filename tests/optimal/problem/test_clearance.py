"""How far above the ground a flight is kept, where it would rather hug it."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.optimal.problem.transcription import BETWEEN_NODES, Transcription
from tests.optimal.launchers import moon_mission
from tests.optimal.three_stages import three_stages
from tests.optimal.told import MESH


def least_altitudes(mission: ao.Mission) -> dict[str, float]:
    """m above the pad that each arc of a direct insertion keeps."""
    vehicle = three_stages((0.0, 0.0))
    sequence = sequence_of(vehicle, mission, direct(vehicle))
    problem = Transcription(
        vehicle=vehicle,
        mission=mission,
        sequence=sequence,
        meshes=(MESH,) * len(sequence.arcs),
        limited_arcs=frozenset(),
        needs_ground_clearance=True,
    ).greatest_mass_problem()
    return {
        arc.name: low
        for arc in problem.arcs
        if arc.path_bounds is not None
        for quantity, low in zip(arc.model.path, arc.path_bounds.lower, strict=True)
        if quantity.name == "altitude"
    }


@pytest.mark.parametrize("site", [0.0, 250.0])
def test_without_a_vertical_rise_upper_stages_keep_what_a_flight_may_be_off(site: float) -> None:
    mission = moon_mission()
    pad = replace(mission.site, altitude=site)
    found = least_altitudes(replace(mission, site=pad, vertical_rise=None))
    assert found["first"] == site
    assert found["second"] == found["third"] == site + BETWEEN_NODES


def test_half_a_vertical_rise_is_kept_by_every_burn() -> None:
    found = least_altitudes(replace(moon_mission(), vertical_rise=80.0))
    assert set(found.values()) == {40.0}
