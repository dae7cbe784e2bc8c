"""Maps of what a rule costs: cells are direct flights, and what is finished is kept."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt import persistence
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.laws.angle_at_altitude import AngleRule
from ascentopt.studies.maps.cost_map import least_cell
from ascentopt.units import deg, km
from tests.studies.wren import MISSION, VEHICLE

RULE, INSERTION = ao.KickRule(), ao.Circularise()
ANGLES = tuple(a * deg for a in (3.0, 8.6, 9.0, 9.2, 9.4))
SPEEDS = (60.0, 63.0)


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


@pytest.fixture(scope="module")
def found(ascent: ao.Ascent) -> ao.CostMap:
    return ao.cost_map(ascent, RULE, INSERTION, across=ANGLES, upward=SPEEDS)


def test_a_cell_is_a_direct_flight(found: ao.CostMap) -> None:
    flight = RuleFlight(vehicle=VEHICLE, mission=MISSION, rule=RULE, insertion=INSERTION)
    assert np.isfinite(found.penalty).sum() >= 2
    for row, column in np.argwhere(np.isfinite(found.penalty)):
        alone = flight.fly((SPEEDS[row], ANGLES[column]))
        # Both end within 1e-4 m/s of the orbit, which is worth a gram or two.
        assert found.propellant_used[row, column] == pytest.approx(alone.propellant_used, abs=1e-2)


def test_the_angle_is_mapped_over_the_altitude(ascent: ao.Ascent) -> None:
    """A cell is the flight of the rule with that altitude; a higher one wants a larger lean."""
    heights, leans = (4 * km, 12 * km), tuple(a * deg for a in (18.0, 30.0, 50.0))
    mapped = ao.cost_map(ascent, ao.AnyAltitudeRule(), INSERTION, across=leans, upward=heights)
    assert mapped.upward.name == "altitude of the angle"
    flown = np.argwhere(np.isfinite(mapped.penalty))
    assert {row for row, _ in flown} == {0, 1}
    for row, column in flown:
        rule = AngleRule(altitude=heights[row])
        flight = RuleFlight(vehicle=VEHICLE, mission=MISSION, rule=rule, insertion=INSERTION)
        alone = flight.fly((leans[column],))
        assert mapped.propellant_used[row, column] == pytest.approx(alone.propellant_used, abs=0.1)


def test_no_cell_beats_the_optimum(found: ao.CostMap) -> None:
    assert np.nanmin(found.penalty) > 0.0
    across, upward, penalty = found.best
    assert across in ANGLES
    assert upward in SPEEDS
    assert penalty == np.nanmin(found.penalty)


def keeper(kept: list[ao.CostMap]) -> ao.Progress[ao.CostMap]:
    """Keeps the map after each row."""

    def keep(step: ao.Step[ao.CostMap]) -> None:
        if not step.over and step.so_far is not None:
            kept.append(step.so_far)

    return keep


def test_it_goes_on_where_it_stopped(ascent: ao.Ascent, found: ao.CostMap, tmp_path: Path) -> None:
    marked = found.propellant_used.copy()
    marked[0], marked[1] = 12345.0, np.nan
    half = replace(found, propellant_used=marked, flown=(0,))
    half.save(tmp_path / "map.json")
    begun = ao.CostMap.load(tmp_path / "map.json")
    assert begun.missing == (1,)
    seen: list[ao.CostMap] = []
    whole = ao.continue_map(begun, ascent, RULE, INSERTION, progress=keeper(seen))
    assert np.all(whole.propellant_used[0] == 12345.0)  # kept, not flown again
    assert whole.propellant_used[1] == pytest.approx(
        found.propellant_used[1], abs=1e-9, nan_ok=True
    )
    assert [one.flown for one in seen] == [(0, 1)]
    assert whole.missing == ()


def test_rows_may_be_flown_elsewhere(ascent: ao.Ascent, found: ao.CostMap) -> None:
    with ThreadPoolExecutor(1) as executor:
        again = ao.cost_map(
            ascent, RULE, INSERTION, across=ANGLES, upward=SPEEDS, executor=executor
        )
    assert np.array_equal(again.propellant_used, found.propellant_used, equal_nan=True)


class OneFails(ThreadPoolExecutor):
    """An executor whose first worker dies."""

    def submit(self, *task: Any, **more: Any) -> Future[Any]:
        if self._work_queue.qsize() or self._threads:
            return super().submit(*task, **more)
        return super().submit(_die)


def _die() -> None:
    raise RuntimeError("a worker died")


def test_a_failed_worker_loses_its_own_row_only(ascent: ao.Ascent, found: ao.CostMap) -> None:
    seen: list[ao.CostMap] = []
    with OneFails(1) as executor, pytest.raises(RuntimeError, match="a worker died"):
        ao.cost_map(
            ascent,
            RULE,
            INSERTION,
            across=ANGLES,
            upward=SPEEDS,
            executor=executor,
            progress=keeper(seen),
        )
    assert [one.missing for one in seen] == [(0,)]
    assert np.array_equal(seen[0].propellant_used[1], found.propellant_used[1], equal_nan=True)


def test_reasons_are_kept(found: ao.CostMap, tmp_path: Path) -> None:
    for reason, used in zip(np.ravel(found.reasons), found.propellant_used.ravel(), strict=True):
        assert (reason == "") == np.isfinite(used)
    found.save(tmp_path / "map.json")
    assert ao.CostMap.load(tmp_path / "map.json").reasons == found.reasons


def test_a_map_of_the_first_version_is_read(found: ao.CostMap, tmp_path: Path) -> None:
    """It knows no reasons, and its rows are continued with some."""
    found.save(tmp_path / "map.json")
    data = persistence.read(tmp_path / "map.json")
    del data["reasons"]
    persistence.write(tmp_path / "map.json", {**data, "version": 1})
    old = ao.CostMap.load(tmp_path / "map.json")
    assert old.reasons == ()
    assert np.array_equal(old.penalty, found.penalty, equal_nan=True)


def test_a_map_of_a_later_version_is_refused(found: ao.CostMap, tmp_path: Path) -> None:
    found.save(tmp_path / "map.json")
    data = persistence.read(tmp_path / "map.json")
    persistence.write(tmp_path / "map.json", {**data, "version": 4})
    with pytest.raises(ao.InputError, match="version 4; this reads 'cost map', version 1 to 3"):
        ao.CostMap.load(tmp_path / "map.json")


def test_a_map_is_not_continued_with_another_rule(ascent: ao.Ascent, found: ao.CostMap) -> None:
    with pytest.raises(ao.InputError, match="Go on with what the map was begun with"):
        ao.continue_map(found, ascent, RULE, ao.LinearTangentInsertion())


def test_a_map_prints_its_best_and_why_cells_fail(found: ao.CostMap) -> None:
    text = str(found)
    orbits = int(np.isfinite(found.penalty).sum())
    assert f"kick angle and kick speed: {orbits} of 10 cells reach the orbit" in text
    assert f"{found.best[2]:.1f} kg" in text
    assert "array" not in text
    reasons = [why for row in found.reasons for why in row if why]
    assert f"{reasons.count(reasons[0])} cells: {reasons[0]}" in text


def test_a_best_cell_at_the_edge_is_flagged(found: ao.CostMap) -> None:
    """There are two rows only, so that each of them is an edge."""
    assert "kick speed" in found.edges
    assert "at the map's edge (" in str(found)
    used = np.full((3, 5), 2e4) - np.eye(3, 5, 1) * 500.0
    used[1, 2] = 1.9e4
    three = replace(
        found,
        propellant_used=used,
        reasons=(),
        flown=None,
        upward=replace(found.upward, values=np.array([60.0, 63.0, 66.0])),
        excess=np.zeros((3, 5)),
    )
    assert three.edges == ()
    assert "edge" not in str(three)


def test_values_must_increase(ascent: ao.Ascent) -> None:
    with pytest.raises(ao.InputError, match="across is"):
        ao.cost_map(ascent, RULE, INSERTION, across=(0.2, 0.1), upward=SPEEDS)


def test_degrees_and_exchanged_sides_are_refused_before_anything_is_flown(
    ascent: ao.Ascent, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fly(*_: object) -> None:
        raise AssertionError("it was flown")

    monkeypatch.setattr(RuleFlight, "as_flown", fly)
    with pytest.raises(ao.InputError, match=r"write 5 \* deg"):
        ao.cost_map(ascent, RULE, INSERTION, across=(5.0, 9.0), upward=SPEEDS)
    with pytest.raises(ao.InputError, match="exchanged with upward"):
        ao.cost_map(ascent, RULE, INSERTION, across=SPEEDS, upward=ANGLES)


def test_rows_that_the_rise_leaves_alike_are_flown_once(ascent: ao.Ascent) -> None:
    """Below the speed at which the rise ends they cost the same, and none of them is an edge."""
    speeds = (10.0, 13.0, 16.0, 60.0)
    finished: list[ao.CostMap] = []
    mapped = ao.cost_map(
        ascent, RULE, INSERTION, across=(9.0 * deg, 14.0 * deg), upward=speeds,
        progress=keeper(finished),
    )  # fmt: skip
    assert speeds[2] < mapped.least_upward < speeds[3]
    assert [len(one.flown or ()) for one in finished] == [3, 4]
    used = mapped.propellant_used[:3]
    assert np.array_equal(used, np.broadcast_to(used[0], used.shape), equal_nan=True)
    assert mapped.edges_at((0, 0)) == (mapped.across.name,)
    assert mapped.edges_at((3, 0)) == (mapped.upward.name, mapped.across.name)


def test_of_rows_that_are_alike_the_last_is_the_best() -> None:
    penalty = np.array([[3.0, 1.0], [3.0, 1.0], [2.0, np.nan]])
    assert least_cell(penalty) == (1, 1)
