"""What is saved comes back to the last bit, and a file can make nothing else."""

from __future__ import annotations

import importlib
import json
from math import inf, isnan, nan
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt import persistence
from ascentopt.optimal.attempt import Standing
from ascentopt.persistence.names import MOVED
from tests.optimal.launchers import earth_mission, four_phase_launcher


@given(st.lists(st.floats(allow_nan=False)))
def test_numbers_come_back_to_the_last_bit(values: list[float]) -> None:
    assert persistence.decode(persistence.encode(values)) == tuple(values)


@pytest.mark.parametrize("value", [inf, -inf, np.float64(inf), np.float64(-inf)])
def test_infinities(value: float) -> None:
    assert persistence.decode(persistence.encode(value)) == value


def test_nan_and_whole_numbers_of_numpy() -> None:
    assert isnan(persistence.decode(persistence.encode(np.float64(nan))))
    assert persistence.decode(persistence.encode(np.int64(7))) == 7


@pytest.mark.parametrize("thing", [four_phase_launcher(), earth_mission(), Standing.BEATEN])
def test_descriptions_and_enums(thing: object) -> None:
    assert persistence.decode(persistence.encode(thing)) == thing


def test_arrays_keep_their_shape() -> None:
    array = np.array([[1.0, nan], [inf, -0.0]])
    again = persistence.decode(persistence.encode(array))
    np.testing.assert_array_equal(again, array)


@pytest.mark.parametrize(
    "name",
    [
        "os:system",
        "ascentopt.persistence.files:Path",
        "ascentopt.persistence:write",
        "ascentopt.persistence.names:importlib",
        "ascentopt.errors:InputError",
        "ascentopt.rocket:Nothing",
    ],
)
def test_a_file_makes_nothing_but_our_own_dataclasses(name: str) -> None:
    with pytest.raises(ao.InputError, match="Refused"):
        persistence.decode({"type": name, "fields": {}})


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"number": "several"},
        {"type": "ascentopt.rocket.stage:Fairing", "fields": {"colour": 1.0}},
        {"enum": "ascentopt.optimal.attempt:Standing", "member": "LUCKY"},
        {"type": "ascentopt.nowhere:Thing", "fields": {}},
    ],
)
def test_what_was_never_saved_is_an_input_error(data: object) -> None:
    with pytest.raises(ao.InputError, match=r"no saved object|no such argument"):
        persistence.decode(data)


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("flight.ending:AfterDuration", {"seconds": 3.0}),
        ("flight.simulate:ArcEnd", {"arc": "coast", "ending": ao.AfterDuration(1.0), "time": 2.0}),
        ("studies.cost_map:Axis", {"name": "pitch", "unit": "rad", "values": (1.0, 2.0)}),
        ("rules.parameter:Parameter", {"name": "kick angle", "value": 1.0, "unit": "rad"}),
    ],
)
def test_what_was_saved_before_its_class_moved(name: str, fields: dict[str, object]) -> None:
    saved = {key: persistence.encode(value) for key, value in fields.items()}
    again = persistence.decode({"type": f"ascentopt.{name}", "fields": saved})
    assert type(again).__name__ == name.rsplit(":", maxsplit=1)[-1]
    for key, value in fields.items():
        assert np.array_equal(getattr(again, key), value) or getattr(again, key) == value  # type: ignore[arg-type]


def test_every_name_that_moved_leads_somewhere() -> None:
    for place in MOVED.values():
        module, _, renamed = place.partition(":")
        found = importlib.import_module(f"ascentopt.{module}")
        assert not renamed or hasattr(found, renamed)


@pytest.mark.parametrize("module", ["optimal.prices", "optimal.result.prices"])
def test_what_was_saved_before_its_class_had_another_name(module: str) -> None:
    partial = ao.Partial(quantity="payload", unit="kg", propellant=0.9, margin=-0.9)
    none = ao.NoPartial(quantity="inclination", reason="it is free")
    saved = json.dumps(persistence.encode(ao.Partials(rows=(partial,), missing=(none,))))
    for now, then in (("NoPartial", "NoPrice"), ("Partials", "Prices"), ("Partial", "Price")):
        saved = saved.replace(f"optimal.result.partials:{now}", f"{module}:{then}")
    assert "artial" not in saved
    assert persistence.decode(json.loads(saved)) == ao.Partials(rows=(partial,), missing=(none,))


def test_an_enum_saved_before_it_moved() -> None:
    data = {"enum": "ascentopt.optimal.candidate:Standing", "member": "BEST"}
    assert persistence.decode(data) is Standing.BEST


def test_a_saved_description_is_validated_again() -> None:
    data = {"type": "ascentopt.rocket.stage:Fairing", "fields": {"mass": -1.0}}
    with pytest.raises(ao.InputError, match=r"mass is -1\.0 kg"):
        persistence.decode(data)


def test_a_damaged_ascent_names_what_it_lacks(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_text('{"form": "ascent", "version": 1}')
    with pytest.raises(ao.InputError, match="lacks vehicle"):
        ao.Ascent.load(tmp_path / "a.json")
    (tmp_path / "b.json").write_text("no json")
    with pytest.raises(ao.InputError, match="is not JSON"):
        ao.Ascent.load(tmp_path / "b.json")
