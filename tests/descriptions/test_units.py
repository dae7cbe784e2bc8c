"""Numbers with units: what they come to, and what is refused."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.descriptions.quantities.measure import MEASURES
from ascentopt.descriptions.quantities.quantity import digits_in_common, in_units, si_number
from ascentopt.descriptions.text_files.place import Place
from ascentopt.units import deg

HERE = Place(Path("rocket.toml"), "vehicle.payload_mass")


@pytest.mark.parametrize(
    ("text", "si", "value"),
    [
        ("62 t", "kg", 62000.0),
        ("62t", "kg", 62000.0),
        (" +62.5e-1  t ", "kg", 6250.0),
        ("1000 lb", "kg", 453.59237),
        ("1150 kN", "N", 1150e3),
        ("1 lbf", "N", 4.4482216152605),
        ("-12 deg", "rad", -12 * deg),
        ("−12°", "rad", -12 * deg),  # noqa: RUF001 - the minus of typeset texts
        ("40 kPa", "Pa", 40e3),
        ("1013.25 hPa", "Pa", 101325.0),
        ("1 psf", "Pa", 47.88025898),
        ("1 psi", "Pa", 6894.757293),
        ("150 kPa deg", "Pa rad", 150e3 * deg),
        ("150 kPa*deg", "Pa rad", 150e3 * deg),
        ("4.5 g0", "m/s^2", 4.5 * 9.80665),
        ("10 m/s/s", "m/s^2", 10.0),
        ("10 m s^-2", "m/s^2", 10.0),
        ("300 km", "m", 300e3),
        ("2 deg/s", "rad/s", 2 * deg),
        ("1 rev/day", "rad/s", 2 * pi / 86400.0),
        ("2.5 1/rad", "1/rad", 2.5),
        ("2.5/rad", "1/rad", 2.5),
        ("0.1 1/deg", "1/rad", 0.1 / deg),
        ("398600.4418 km^3/s^2", "m^3/s^2", 3.986004418e14),
        ("398600.4418 km³/s²", "m^3/s^2", 3.986004418e14),
        ("398600.4418 km3/s2", "m^3/s^2", 3.986004418e14),
        ("287 J/(kg K)", "J/(kg K)", 287.0),
        ("0.287 kJ/kg/K", "J/(kg K)", 287.0),
        ("1.2 kg m^-3", "kg/m^3", 1.2),
        ("1.135 kW/m**2", "W/m^2", 1135.0),
        ("35 %", "", 0.35),
        ("0.35", "", 0.35),
        (7, "kg", 7.0),
        (7.5, "kg", 7.5),
    ],
)
def test_what_people_write(text: str | float, si: str, value: float) -> None:
    assert si_number(HERE, text, si) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("62 kN", "a mass, and 'kN' is a force"),
        ("62 kg/s", "a mass, and 'kg/s' is something else"),
        ("62", "a mass, and a text needs a unit"),
        ("62 tons", "'tons' is no unit known here. Did you mean 't'?"),
        ("62 KG", "Did you mean 'kg'?"),
        ("62 kgs", "Did you mean 'kg'?"),
        ("62 kilograms", "Did you mean 'kg'?"),
        ("62 g", "'g' is no unit known here"),
        ("62,5 t", "a mass: a number and its unit"),
        ("62.5.1 t", "a mass: a number and its unit"),
        ("t", "a mass: a number and its unit"),
        ("", "a mass: a number and its unit"),
        ("nan t", "a mass: a number and its unit"),
        ("62 kg/", "is no unit known here"),
        ("62 (kg", "is no unit known here"),
        ("62 kg)", "is no unit known here"),
        ("62 kg/(m/m)", "is no unit known here"),
        ("62 kg^", "is no unit known here"),
        ("62 kg^2", "a mass, and 'kg^2' is something else"),
        ("1e999 kg", "a finite number"),
        (float("inf"), "a finite number"),
        (10**400, f"is 1{76 * '0'}...; it must be a finite number"),
        (True, "is true; it must be a mass"),
        ([62], "it must be a mass"),
    ],
)
def test_what_is_refused(text: object, said: str) -> None:
    with pytest.raises(ao.InputError) as refusal:
        si_number(HERE, text, "kg")
    assert str(refusal.value).startswith("rocket.toml: vehicle.payload_mass is ")
    assert said in str(refusal.value)
    assert str(refusal.value).endswith("Give a number in kg, or a text such as '62 t'.")


def test_specific_impulse_is_no_speed() -> None:
    with pytest.raises(ao.InputError, match=r"a time, and 'm/s' is a speed"):
        si_number(HERE, "3050 m/s", "s")


def test_acceleration_is_offered_its_own_g() -> None:
    with pytest.raises(ao.InputError, match="Did you mean 'g0'"):
        si_number(HERE, "4.5 g", "m/s^2")


FINITE = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e290, max_value=1e290)


@given(st.sampled_from(sorted(MEASURES)), FINITE.filter(lambda x: x == 0.0 or abs(x) > 1e-290))
def test_a_number_in_units_is_read_to_the_last_bit(si: str, value: float) -> None:
    assert si_number(HERE, in_units(value, si), si) == value


@given(st.sampled_from(sorted(MEASURES)), st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=5))
def test_a_column_has_one_unit(si: str, values: list[float]) -> None:
    digits, unit = digits_in_common(tuple(values), si)
    assert [si_number(HERE, f"{one} {unit}", si) for one in digits] == values


def test_people_see_numbers_between_one_and_ten_thousand() -> None:
    assert in_units(300.0, "kg") == "300 kg"
    assert in_units(62000.0, "kg") == "62 t"
    assert in_units(-12 * deg, "rad") == "-12 deg"
    assert in_units(4.5 * 9.80665, "m/s^2") == "4.5 g0"
