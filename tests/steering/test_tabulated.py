"""The steering table: round trips, columns and refusals."""

from __future__ import annotations

import csv
from dataclasses import replace
from math import pi
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.plan import FlightPlan


def table() -> ao.TabulatedSteering:
    segment = ao.SteeringSegment(
        arc="first",
        duration=10.0,
        times=(0.0, 5.0, 10.0),
        altitude=(0.0, 100.0, 400.0),
        speed=(0.0, 40.0, 90.0),
        up=(1.0, 0.8, 0.0),
        east=(0.0, 0.6, 1.0),
        north=(0.0, 0.0, 0.0),
        throttle=(1.0, 1.0, 0.9),
    )
    coast = ao.SteeringSegment(arc="coast", duration=0.1 + 0.2)
    plan = FlightPlan(inserting_stage=0, coast_before=(0,))
    return ao.TabulatedSteering(plan=plan, segments=(segment, coast))


def test_pitch_and_heading_follow_from_the_components() -> None:
    first = table().segments[0]
    assert first.pitch == pytest.approx((pi / 2, 0.9272952180016122, 0.0))
    assert first.heading == pytest.approx((0.0, pi / 2, pi / 2))


def test_saving_keeps_every_bit(tmp_path: Path) -> None:
    table().save(tmp_path / "table.json")
    assert ao.TabulatedSteering.load(tmp_path / "table.json") == table()


def test_another_axis_is_kept_told_and_checked(tmp_path: Path) -> None:
    sideways = replace(table(), axis=(0.6, -0.8, 0.0))
    sideways.save(tmp_path / "table.json")
    assert ao.TabulatedSteering.load(tmp_path / "table.json") == sideways != table()
    sideways.to_csv(tmp_path / "table.csv")
    assert "(0.6, -0.8, 0.0)" in (tmp_path / "table.csv").read_text()
    with pytest.raises(ao.InputError, match="axis is"):
        replace(table(), axis=(1.0, 1.0, 0.0))


def test_a_table_of_coasts_alone_needs_no_other_axis() -> None:
    samples = np.zeros((2, 12))
    samples[:, 1], samples[:, 7] = 7e6, 100.0
    plan = FlightPlan(inserting_stage=0)
    law = ao.TabulatedSteering.from_samples(plan, ao.earth(), [("coast", samples, 5.0)])
    assert law.axis == (0.0, 0.0, 1.0)
    assert law.segments[0].times == ()


def test_the_csv_has_units_in_its_columns_and_a_caution(tmp_path: Path) -> None:
    table().to_csv(tmp_path / "table.csv")
    lines = (tmp_path / "table.csv").read_text().splitlines()
    assert "not for the control of a real launch" in lines[0]
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    samples = [row for row in rows if not row["event"]]
    assert [float(row["pitch [deg]"]) for row in samples] == pytest.approx([90.0, 53.13010, 0.0])
    units = {"time [s]", "altitude [m]", "air_speed [m/s]", "heading [deg]", "throttle [-]"}
    assert units < set(rows[0])


def test_the_csv_keeps_every_bit_and_says_when_arcs_end() -> None:
    law = table()
    rows = law.to_table()
    samples = [k for k, event in enumerate(rows["event"]) if event is None]
    for name in ("up", "east", "north", "throttle"):
        assert tuple(rows[name][k] for k in samples) == getattr(law.segments[0], name)
    ends = [row for row in rows.rows if row[1] is not None]
    assert [row[:4] for row in ends] == [
        ("first", "end of arc", None, 10.0),
        ("coast", "end of arc", None, 10.3),
    ]
    assert "Nobody said for which vehicle" in rows.csv


def test_what_is_no_table_is_refused(tmp_path: Path) -> None:
    (tmp_path / "other.json").write_text('{"form": "recipe"}')
    with pytest.raises(ao.InputError, match="form 'recipe'"):
        ao.TabulatedSteering.load(tmp_path / "other.json")


def test_times_that_go_back_are_refused() -> None:
    with pytest.raises(ao.InputError, match=r"go from 2\.0 back to 1\.0"):
        ao.SteeringSegment(arc="a", duration=2.0, times=(2.0, 1.0), altitude=(0, 0),
                           speed=(0, 0), up=(1, 1), east=(0, 0), north=(0, 0),
                           throttle=(1, 1))  # fmt: skip
