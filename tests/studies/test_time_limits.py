"""A limit on time ends every study, which hands over what is finished."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from time import monotonic
from typing import Any

import pytest

import ascentopt as ao
from ascentopt.progress import Deadline, TimeIsUp
from tests.studies.wren import MISSION, VEHICLE

Study = Callable[..., object]


@cache
def _ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


def _optimize(**more: Any) -> object:
    return ao.optimize(VEHICLE, MISSION, **more)


def _max_payload(**more: Any) -> object:
    return ao.max_payload(VEHICLE, MISSION, **more)


def _size(**more: Any) -> object:
    stage = VEHICLE.stages[-1]
    held = stage.propellant_mass
    free = [ao.FreePropellant(stage=stage.name, least=0.3 * held, most=3.0 * held)]
    laws = [ao.StructuralLaw.through(VEHICLE, stage.name, per_propellant=0.05)]
    sought = ao.LeastLiftOffMass()
    return ao.size(VEHICLE, MISSION, free=free, laws=laws, objective=sought, **more)


def _compare(**more: Any) -> object:
    return ao.compare(VEHICLE, MISSION, ascent=_ascent(), **more)


def _best_gravity_turn(**more: Any) -> object:
    return ao.best_gravity_turn(_ascent(), **more)


def _valley(**more: Any) -> object:
    return ao.valley(_ascent(), ao.best_gravity_turn(_ascent()), **more)


def _simplify(**more: Any) -> object:
    return ao.simplify(_ascent(), knots=3, **more)


def _simplify_curve(**more: Any) -> object:
    return ao.simplify_curve(_ascent(), **more)


def _cost_map(**more: Any) -> object:
    across, upward = (0.1, 0.15, 0.2), (60.0, 63.0, 66.0)
    rule, insertion = ao.KickRule(), ao.Circularise()
    return ao.cost_map(_ascent(), rule, insertion, across=across, upward=upward, **more)


def _disperse(**more: Any) -> object:
    scatter = (ao.IspDispersion("upper", ao.Normal(0.003)),)
    return ao.disperse(_ascent(), scatter, count=210, **more)


def _sweep(**more: Any) -> object:
    return ao.sweep(VEHICLE, MISSION, {"payload_mass": [800.0, 810.0]}, **more)


KEPT: dict[Study, type] = {
    _optimize: ao.Ascent,
    _max_payload: ao.MaxPayload,
    _size: ao.Sizing,
    _compare: ao.Comparison,
    _best_gravity_turn: ao.RuleOutcome,
    _simplify_curve: tuple,
    _cost_map: ao.CostMap,
    _disperse: ao.DispersedFlights,
    _sweep: ao.Sweep,
}


def _name(study: Study) -> str:
    return study.__name__.lstrip("_")


@pytest.mark.slow
@pytest.mark.parametrize("study", [*KEPT, _valley, _simplify], ids=_name)
def test_no_time_is_enough_for_nothing(study: Study) -> None:
    _ascent()
    with pytest.raises(ao.OutOfTime, match=rf"{_name(study)}: .*\(1e-09 s\) is up; ") as told:
        study(time_limit=1e-9)
    match told.value.best:
        case ao.Comparison() as found:
            assert found.outcomes == ()
        case ao.CostMap() as found:
            assert found.flown == ()
        case ao.Sweep() as found:
            assert found.missing == (0, 1)
        case nothing:
            assert nothing in (None, ())


class Hourglass:
    """Runs out as soon as a study has finished something."""

    def __init__(self) -> None:
        self.steps: list[ao.Step[Any]] = []
        self.empty = False

    def look(self, step: ao.Step[Any]) -> None:
        self.steps.append(step)
        self.empty = self.empty or (step.done > 0 and step.so_far is not None)

    def left(self) -> float:
        if self.empty:
            raise TimeIsUp
        return 1e9


@pytest.mark.slow
@pytest.mark.parametrize("study", KEPT, ids=_name)
def test_what_is_finished_is_handed_over(study: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    _ascent()
    glass = Hourglass()
    monkeypatch.setattr(Deadline, "left", lambda _: glass.left())
    with pytest.raises(ao.OutOfTime, match=f"{_name(study)}: .*`best` is the ") as told:
        study(time_limit=60.0, progress=glass.look)
    assert isinstance(told.value.best, KEPT[study])
    assert glass.steps[-1].over
    assert {step.study for step in glass.steps} == {_name(study)}


def test_time_is_that_of_the_clock_and_checked_before_anything_is_done() -> None:
    for wrong in (0.0, -3.0, "60"):
        begun = monotonic()
        with pytest.raises(ao.InputError, match="optimize: time_limit is"):
            ao.optimize(VEHICLE, MISSION, time_limit=wrong)  # type: ignore[arg-type]
        assert monotonic() - begun < 1.0
