"""Steering laws: where the thrust points, and when engines are cut off."""

from __future__ import annotations

from ascentopt.steering.callable_steering import CallableSteering
from ascentopt.steering.gravity_turn import GravityTurn, Kick
from ascentopt.steering.pitch_table import Against, PitchTable
from ascentopt.steering.table.segment import SteeringSegment
from ascentopt.steering.tabulated import TabulatedSteering

__all__ = [
    "Against",
    "CallableSteering",
    "GravityTurn",
    "Kick",
    "PitchTable",
    "SteeringSegment",
    "TabulatedSteering",
]
