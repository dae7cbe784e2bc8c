"""Each mistake in a description gets a sentence with file, key, value, rule and fix."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

import ascentopt as ao

GOOD = """
name = "small"
[vehicle]
name = "Phalarope"
payload_mass = "150 kg"
[[vehicle.stages]]
name = "first"
propellant_mass = "10 t"
dry_mass = "950 kg"
engine = { vacuum_thrust = "230 kN", vacuum_isp = "315 s" }
[[vehicle.stages]]
name = "second"
propellant_mass = "2.4 t"
dry_mass = "220 kg"
engine = { vacuum_thrust = "36 kN", vacuum_isp = "345 s" }
restarts = 1
[vehicle.aerodynamics]
reference_area = "1.3 m^2"
drag_coefficient = 0.3
[mission]
body = "earth"
site = { latitude = "-12 deg" }
orbit = { altitude = "250 km" }
"""


def refused(folder: Path, old: str, new: str) -> str:
    """What is said of the good file with a part of it changed, without the file's name."""
    assert GOOD.count(old) >= 1
    path = folder / "rocket.toml"
    path.write_text(GOOD.replace(old, new), encoding="utf-8")
    with pytest.raises(ao.InputError) as refusal:
        ao.read(path)
    said = str(refusal.value)
    assert said.startswith(str(path))
    return said.removeprefix(str(path)).removeprefix(": ")


def test_the_good_file_is_good(tmp_path: Path) -> None:
    path = tmp_path / "rocket.toml"
    path.write_text(GOOD, encoding="utf-8")
    assert ao.read(str(path)).vehicle.stages[1].restarts == 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            '"36 kN"',
            '"36 t"',
            "vehicle.stages[1].engine.vacuum_thrust is '36 t'; it must be a force",
        ),
        ("payload_mass", "payload", "vehicle.payload = '150 kg' is given, but is no key here"),
        ("payload_mass", "payload", "Did you mean 'payload_mass'?"),
        ('dry_mass = "220 kg"\n', "", "vehicle.stages[1].dry_mass is missing; it must be given"),
        ("restarts = 1", "restarts = 1.0", "vehicle.stages[1].restarts is 1.0; it must be a whole"),
        ("restarts = 1", 'restarts = "1"', "vehicle.stages[1].restarts is '1'; it must be a whole"),
        ("restarts = 1", "restarts = true", "vehicle.stages[1].restarts is true; it must be"),
        ("restarts = 1", "restarts = -1", "vehicle.stages[1].restarts: Stage 'second': restarts"),
        ('"345 s"', '"-345 s"', "vehicle.stages[1].engine.vacuum_isp: Engine: vacuum_isp is -345"),
        (
            '"earth"',
            '"eart"',
            "mission.body is 'eart'; it must be one of the names 'earth', 'mars'",
        ),
        ('"earth"', '"eart"', "Did you mean 'earth'?"),
        ('"earth"', "3", "mission.body is 3; it must be a table (Body), or one of the names"),
        (
            '"earth"',
            '{ base = "erth" }',
            "mission.body.base is 'erth'; it must be one of the names",
        ),
        (
            '"earth"',
            '{ base = "mars", moons = 2 }',
            "mission.body.moons = 2 is given, but is no key",
        ),
        ('"earth"', '{ base = "mars", j2 = 9 }', "mission.body.j2: Body 'Mars': j2 is 9.0"),
        ('"earth"', '{ bass = "mars" }', "Did you mean 'base'?"),
        ("[[vehicle.stages]]", "[[vehicle.stage]]", "vehicle.stage = "),
        ('name = "Phalarope"', "name = 3", "vehicle.name is 3; it must be a text"),
        ('name = "second"', 'name = "first"', "vehicle: Vehicle 'Phalarope': two parts are named"),
        ("drag_coefficient = 0.3", "drag_coefficient = {}", "drag_coefficient.mach is missing"),
        ("0.3", "[0.3]", "vehicle.aerodynamics.drag_coefficient is [0.3]; it must be a number"),
        ("0.3", "{ mach = [0, 1] }", "drag_coefficient.cd is missing"),
        ("0.3", "{ mach = 3, cd = 4 }", "drag_coefficient.mach is 3; it must be a list of numbers"),
        ("0.3", "{ mach = [0, 'a'], cd = [1, 1] }", "drag_coefficient.mach[1] is 'a'; it must be"),
        ("0.3", "{ mach = [1, 0], cd = [1, 1] }", "drag_coefficient.mach: DragCurve: mach[1] is 0"),
        ("0.3", "{ mach = { values = 3, unit = '' }, cd = [1] }", "list of numbers, or a table of"),
        ('"250 km"', '"50 km"', "mission.orbit: Mission: orbit has its periapsis at 50 km"),
        ('altitude = "250 km"', "", "mission.orbit: EllipticalOrbit: neither size nor shape"),
        ('altitude = "250 km"', "altitude = 3e5, eccentricity = 0", "which do not go together"),
        ('altitude = "250 km"', "altitud = 3e5", "mission.orbit.altitud = 300000.0 is given, but"),
        (
            '{ latitude = "-12 deg" }',
            '{ csv = "x.csv" }',
            "mission.site.csv = 'x.csv' is given, but",
        ),
        ("orbit = {", "reserve = {}\norbit = {", "mission.reserve.mass is missing"),
        ("orbit = {", "reserve = { mas = 3 }\norbit = {", "Did you mean 'mass'?"),
        ("orbit = {", "lift_off_time = 07:32:00\norbit = {", "mission.lift_off_time is "),
        ("orbit = {", "limits = { q_alpha = 'non' }\norbit = {", "mission.limits.q_alpha is 'non'"),
        ('[mission]\nbody = "earth"', "[mission]", "mission.body is missing; it must be given"),
        (GOOD, "", "name is missing; it must be given"),
        (
            GOOD,
            "vehicle = 3\nname = 'x'\nmission = 4",
            "vehicle is 3; it must be a table (Vehicle)",
        ),
        ("[mission]", "[mission", " is not TOML (Expected ']'"),
        ("[mission]", "[mission", "(at line 20, column 9)"),
        ('"150 kg"', '"150 kg', " is not TOML (Illegal character"),
    ],
)
def test_mistakes(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert said in refused(tmp_path, old, new)


def test_none_is_said_in_words(tmp_path: Path) -> None:
    path = tmp_path / "rocket.toml"
    asked = 'limits = { q_alpha = "none" }\nvertical_rise = "none"\norbit = {'
    text = GOOD.replace("orbit = {", asked)
    text = text.replace('"earth"', '{ base = "earth", atmosphere = "none" }')
    path.write_text(text, encoding="utf-8")
    mission = ao.read(path).mission
    assert mission.limits == ao.FlightLimits.none()
    assert mission.vertical_rise is None
    assert mission.body.atmosphere is None


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "rocket.toml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "noise.toml").write_bytes(bytes(range(256)))
    (tmp_path / "pipe.toml").touch()
    (tmp_path / "pipe.toml").unlink()
    os.mkfifo(tmp_path / "pipe.toml")
    cases: list[tuple[object, str]] = [
        (
            tmp_path / "rokket.toml",
            "is not there; it must be a file that exists. Did you mean 'roc",
        ),
        (tmp_path / "nowhere" / "rocket.toml", "is not there"),
        (tmp_path, "is a folder; it must be a file"),
        (tmp_path / "noise.toml", "holds the byte 0x80 at 128; it must be a text in UTF-8"),
        (tmp_path / "pipe.toml", "is no regular file"),
        (3, "read: path is 3; it must be the path of a file"),
        (None, "read: path is None; it must be the path of a file"),
        ("", "read: path is ''; it must be the path of a file"),
        ("a\0b", "must be a file that exists"),
    ]
    for path, said in cases:
        with pytest.raises(ao.InputError) as refusal:
            ao.read(path)  # type: ignore[arg-type]
        assert said in str(refusal.value)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read anything")
def test_a_file_without_the_right_to_read_it(tmp_path: Path) -> None:
    path = tmp_path / "rocket.toml"
    path.write_text(GOOD, encoding="utf-8")
    path.chmod(stat.S_IWUSR)
    with pytest.raises(ao.InputError, match=r"cannot be read .Permission denied"):
        ao.read(path)
