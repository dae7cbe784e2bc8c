"""Tables inline and as CSV files beside the description are the same."""

from __future__ import annotations

from pathlib import Path

import pytest

import ascentopt as ao
from tests.descriptions.test_refusals import GOOD

CURVE = 'engine = { csv = "thrust.csv", vacuum_isp = "278 s" }'
INLINE = (
    'engine = { time = [0, 4, 60], vacuum_thrust = ["200 kN", 300e3, "50 kN"], vacuum_isp = 278 }'
)
ONE_UNIT = (
    'engine = { time = { values = [0, 4, 60], unit = "s" }, '
    'vacuum_thrust = { values = [200, 300, 50], unit = "kN" }, vacuum_isp = "278 s" }'
)
TABLE = "time [s], vacuum_thrust [kN]\n0, 200\n4, 300\n60, 50\n"
FIRST = 'engine = { vacuum_thrust = "230 kN", vacuum_isp = "315 s" }'


def read_with(folder: Path, engine: str, table: str | bytes = TABLE) -> ao.Scenario:
    """The good file with a solid first stage, whose thrust curve may lie beside it."""
    fill = ao.SolidMotor(time=(0, 4, 60), vacuum_thrust=(200e3, 300e3, 50e3), vacuum_isp=278.0)
    text = GOOD.replace(FIRST, engine).replace('"10 t"', repr(fill.propellant_mass))
    (folder / "rocket.toml").write_text(text, encoding="utf-8")
    (folder / "thrust.csv").write_bytes(table.encode() if isinstance(table, str) else table)
    return ao.read(folder / "rocket.toml")


def test_three_ways_to_write_a_curve(tmp_path: Path) -> None:
    found = [read_with(tmp_path, engine) for engine in (CURVE, INLINE, ONE_UNIT)]
    assert found[0] == found[1] == found[2]
    motor = found[0].vehicle.stages[0].engine
    assert isinstance(motor, ao.SolidMotor)
    assert motor.time == (0.0, 4.0, 60.0)
    assert motor.vacuum_thrust == pytest.approx((200e3, 300e3, 50e3))


@pytest.mark.parametrize(
    "table",
    [
        "\ufeff" + TABLE,
        TABLE.replace("\n", "\r\n"),
        "# measured on a stand\n\n" + TABLE + "\n,\n",
        "vacuum_thrust (kN),time\n200,0\n300,4\n50,60",
        'time,"vacuum_thrust"\n0,200e3\n4,"300000"\n60,5e4\n',
    ],
)
def test_files_that_say_the_same(tmp_path: Path, table: str) -> None:
    assert read_with(tmp_path, CURVE, table) == read_with(tmp_path, INLINE)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("", "a CSV file with a row of names. It is empty: fill it."),
        ("# only words\n", "a CSV file with a row of names"),
        (
            "time, thrust\n0, 1\n",
            "the columns ['time', 'thrust']; they must be time, vacuum_thrust",
        ),
        ("time\n0\n", "the columns ['time']"),
        ("0, 200\n4, 300\n", "the columns "),
        ("time, time, vacuum_thrust\n0, 0, 1\n", "the columns "),
        ("time; vacuum_thrust\n0; 1\n", "the columns "),
        (TABLE + "61\n", "whose line 5 has 1 values; it must have 2"),
        (TABLE + "61, x\n", "line 5 of 'thrust.csv': vacuum_thrust is ' x'; it must be a number"),
        (TABLE + "61, \n", "line 5 of 'thrust.csv': vacuum_thrust is ' '; it must be a number"),
        (TABLE + "61, nan\n", "vacuum_thrust is ' nan'; it must be a number"),
        (TABLE + "61, 5 kN\n", "vacuum_thrust is ' 5 kN'; it must be a number without a unit"),
        (
            TABLE.replace("kN", "kg"),
            "vacuum_thrust is 'kg'; it must be a force, and 'kg' is a mass",
        ),
        (TABLE.replace("kN", "kn"), "Did you mean 'kN'?"),
        (TABLE.replace("kN", ""), "a force, and a text needs a unit"),
        (TABLE.replace("4, 300", "0, 300"), "vehicle.stages[0].engine.time: SolidMotor: time[1]"),
        (b"\xff\xfe", "thrust.csv holds the byte 0xff at 0; it must be a text in UTF-8"),
        ("time, vacuum_thrust\n0, \x00\n", "vehicle.stages[0].engine.csv"),
        ('time, vacuum_thrust\n0, "' + "1" * 200_000 + '"\n', "vehicle.stages[0].engine.csv"),
    ],
)
def test_files_that_are_refused(tmp_path: Path, table: str | bytes, said: str) -> None:
    with pytest.raises(ao.InputError) as refusal:
        read_with(tmp_path, CURVE, table)
    text = str(refusal.value)
    assert text.startswith(f"{tmp_path / 'rocket.toml'}: vehicle.stages[0].engine.")
    assert said in text


@pytest.mark.parametrize(
    ("engine", "said"),
    [
        (CURVE.replace("thrust.csv", "thrast.csv"), "Did you mean 'thrust.csv'?"),
        (CURVE.replace("thrust.csv", "."), "is a folder"),
        (CURVE.replace('"thrust.csv"', "3"), "engine.csv is 3; it must be the name of a CSV file"),
        (CURVE.replace("csv =", "time = [0, 4, 60], csv ="), "engine.time is given here and as a"),
        (
            FIRST.replace("{", '{ csv = "thrust.csv",'),
            "engine.vacuum_thrust is given here and as a",
        ),
    ],
)
def test_keys_that_are_refused(tmp_path: Path, engine: str, said: str) -> None:
    with pytest.raises(ao.InputError) as refusal:
        read_with(tmp_path, engine)
    assert said in str(refusal.value)


def test_the_library_s_own_columns_are_read(tmp_path: Path) -> None:
    """They have "-" for a number without a unit."""
    (tmp_path / "drag.csv").write_text("mach [-],cd [-]\n0.0,0.3\n2.0,0.4\n", encoding="utf-8")
    text = GOOD.replace("drag_coefficient = 0.3", 'drag_coefficient = { csv = "drag.csv" }')
    (tmp_path / "rocket.toml").write_text(text, encoding="utf-8")
    air = ao.read(tmp_path / "rocket.toml").vehicle.aerodynamics
    assert air is not None
    assert air.drag_coefficient == ao.DragCurve(mach=(0.0, 2.0), cd=(0.3, 0.4))
