"""Air of one's own in a file: warmer, denser, windy, and as a balloon met it."""

from __future__ import annotations

from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.units import deg, km
from tests.descriptions.test_refusals import GOOD


def air_of(folder: Path, told: str) -> ao.Atmosphere:
    """The air of the Earth, told so."""
    text = GOOD.replace('body = "earth"', f'body = {{ base = "earth", atmosphere = {told} }}')
    path = folder / "rocket.toml"
    path.write_text(text, encoding="utf-8")
    found = ao.read(path)
    ao.write(folder / "again.toml", found)
    assert ao.read(folder / "again.toml") == found
    air = found.mission.body.atmosphere
    assert air is not None
    return air


def test_a_hot_day(tmp_path: Path) -> None:
    told = '{ base = "standard 1976", temperature_offset = "15 K", density_factor = 1.02 }'
    standard = ao.Atmosphere.standard_1976()
    assert air_of(tmp_path, told) == standard.with_temperature_offset(15.0).with_density_scaled(
        1.02
    )


def test_a_name_of_its_own_stays(tmp_path: Path) -> None:
    told = '{ base = "standard 1976", name = "august", density_factor = 0.97, ceiling = "110 km" }'
    air = air_of(tmp_path, told)
    assert (air.name, air.ceiling) == ("august", 110 * km)


def test_isothermal_air_carries_its_weight(tmp_path: Path) -> None:
    told = '{ surface_density = 1.2, scale_height = "8 km", ceiling = "100 km" }'
    air, earth = air_of(tmp_path, told), ao.earth()
    assert air.pressure(0.0) == pytest.approx(1.2 * 8e3 * earth.surface_gravity, rel=1e-12)


SOUNDING = """
# a clear morning, invented
altitude [km], pressure [hPa], temperature [K], wind_speed [m/s], wind_from [deg]
0, 1013, 290, 3, 250
5, 545, 258, 20, 265
11, 229, 219, 48, 270
"""


def test_a_day_s_sounding(tmp_path: Path) -> None:
    (tmp_path / "sounding.csv").write_text(SOUNDING, encoding="utf-8")
    expected = ao.Atmosphere.sounding(
        altitude=[0.0, 5e3, 11e3],
        pressure=[101300.0, 54500.0, 22900.0],
        temperature=[290.0, 258.0, 219.0],
        wind_speed=[3.0, 20.0, 48.0],
        wind_from=[250 * deg, 265 * deg, 270 * deg],
    )
    assert air_of(tmp_path, '{ csv = "sounding.csv" }') == expected


def test_a_sounding_without_wind(tmp_path: Path) -> None:
    calm = "\n".join(",".join(line.split(",")[:3]) for line in SOUNDING.splitlines())
    (tmp_path / "calm.csv").write_text(calm, encoding="utf-8")
    assert air_of(tmp_path, '{ csv = "calm.csv", above = "standard 1976" }').wind is None


def test_the_columns_tell_a_sounding_from_a_table(tmp_path: Path) -> None:
    (tmp_path / "day.csv").write_text(SOUNDING, encoding="utf-8")
    air = air_of(tmp_path, '{ csv = "day.csv", ceiling = "110 km" }')
    assert air.ceiling == 110 * km
    assert "sounding" in air.name
    table = "altitude, temperature, pressure, density\n-100, 288, 1.0e5, 1.2\n5e4, 270, 80, 1e-3\n"
    (tmp_path / "day.csv").write_text(table, encoding="utf-8")
    assert air_of(tmp_path, '{ csv = "day.csv", ceiling = "110 km" }').name == "tabulated"


def test_columns_that_are_no_sounding(tmp_path: Path) -> None:
    (tmp_path / "half.csv").write_text("altitude, pressure\n0, 1e5\n1, 9e4\n", encoding="utf-8")
    with pytest.raises(ao.InputError) as refusal:
        air_of(tmp_path, '{ csv = "half.csv" }')
    assert "mission.body.atmosphere.csv names 'half.csv', which has the columns" in str(
        refusal.value
    )
