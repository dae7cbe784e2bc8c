"""What is written is read again to the last bit."""

from __future__ import annotations

import tempfile
from dataclasses import fields, is_dataclass, replace
from math import copysign
from pathlib import Path

import numpy as np
import pytest
from hypothesis import Phase, given, settings

import ascentopt as ao
from ascentopt.units import km
from tests.descriptions.drawn import SCENARIOS

# Numbers drawn at random may be odd; they are to come back all the same.
pytestmark = pytest.mark.filterwarnings("ignore::UserWarning")

SCENARIO = ao.scenarios()["earth-small"]


def through_a_file(one: ao.Scenario) -> ao.Scenario:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "one.toml"
        ao.write(path, one)
        return ao.read(path)


def bits(thing: object) -> object:
    """Of all its numbers: `==` takes a zero for another with the other sign."""
    if is_dataclass(thing):
        return [type(thing), *(bits(getattr(thing, one.name)) for one in fields(thing))]
    if isinstance(thing, tuple):
        return [bits(one) for one in thing]
    number = isinstance(thing, float | int) and not isinstance(thing, bool)
    return (float(thing), copysign(1.0, thing)) if number else thing  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ao.scenarios())
def test_built_in_scenarios(name: str) -> None:
    one = ao.scenarios()[name]
    again = through_a_file(one)
    assert again == one
    assert bits(again) == bits(one)


@settings(phases=[Phase.generate])  # to shrink a whole scenario takes many minutes
@given(SCENARIOS)
def test_any_scenario(one: ao.Scenario) -> None:
    again = through_a_file(one)
    assert again == one
    assert bits(again) == bits(one)


@pytest.mark.slow
@settings(phases=[Phase.generate], max_examples=1000)
@given(SCENARIOS)
def test_a_thousand_scenarios(one: ao.Scenario) -> None:
    assert bits(through_a_file(one)) == bits(one)


def test_zeros_keep_their_sign() -> None:
    site = replace(SCENARIO.mission.site, latitude=-0.0, longitude=-0.0)
    one = replace(SCENARIO, mission=replace(SCENARIO.mission, site=site))
    assert bits(through_a_file(one)) == bits(one)


def test_numbers_are_written_as_people_say_them(tmp_path: Path) -> None:
    path = tmp_path / "one.toml"
    ao.write(path, ao.scenarios()["earth-weak-upper"])
    text = path.read_text(encoding="utf-8")
    for said in ('"62 t"', '"1150 kN"', '"311 s"', '"-12 deg"', '"300 km"', '"40 kPa"', '"earth"'):
        assert said in text


def test_air_is_written_as_it_was_made(tmp_path: Path) -> None:
    """The constructor's own numbers come back, not the logarithms that it keeps."""
    path = tmp_path / "one.toml"
    heights = np.linspace(0.0, 80 * km, 30)
    table = ao.Atmosphere.tabulated(
        altitude=heights,
        temperature=250.0 + 0.0 * heights,
        pressure=1e5 * np.exp(-heights / (7.5 * km)),
        density=1.3 * np.exp(-heights / (7.5 * km)),
        ceiling=90 * km,
    )
    thin = ao.Atmosphere.exponential(surface_density=1.7, scale_height=6.1 * km, ceiling=70 * km)
    heavy = ao.Atmosphere.exponential(
        surface_density=1.7, scale_height=6.1 * km, ceiling=70 * km, gas_constant=188.9
    )
    for air, said in (
        (table, "density = "),
        (thin, '{ surface_density = "1.7 kg/m^3", scale_height = "6.1 km", ceiling = "70 km" }'),
        (heavy, 'gas_constant = "188.9 J/(kg K)"'),
    ):
        body = replace(SCENARIO.mission.body, atmosphere=air)
        one = replace(SCENARIO, mission=replace(SCENARIO.mission, body=body))
        ao.write(path, one)
        text = path.read_text(encoding="utf-8")
        assert said in text
        assert "log_density" not in text
        assert ao.read(path) == one


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "one.toml"
    ao.write(path, SCENARIO)
    before = path.read_bytes()
    with pytest.raises(ao.InputError, match=r"write: scenario is .*must be a Scenario"):
        ao.write(path, SCENARIO.vehicle)  # type: ignore[arg-type]
    unwritable = replace(SCENARIO, name="half a pair \ud800")
    with pytest.raises(ao.InputError, match=r"one\.toml' cannot be written .*surrogates"):
        ao.write(path, unwritable)
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["one.toml"]


def test_what_cannot_be_written_is_refused(tmp_path: Path) -> None:
    class Winged(ao.Vehicle):
        pass

    own = {one.name: getattr(SCENARIO.vehicle, one.name) for one in fields(ao.Vehicle)}
    with pytest.raises(ao.InputError, match="Winged is a class of your own"):
        ao.write(tmp_path / "one.toml", replace(SCENARIO, vehicle=Winged(**own)))
    with pytest.raises(ao.InputError, match=r"cannot be written .*No such file or directory"):
        ao.write(tmp_path / "nowhere" / "one.toml", SCENARIO)
    with pytest.raises(ao.InputError, match="is a folder"):
        ao.write(tmp_path, SCENARIO)
    with pytest.raises(ao.InputError, match="path is 3; it must be the path of a file"):
        ao.write(3, SCENARIO)  # type: ignore[arg-type]
