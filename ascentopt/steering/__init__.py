"""Steering laws: where the thrust points, and when engines are cut off."""

from __future__ import annotations

from ascentopt.steering.gravity_turn import GravityTurn, Kick
from ascentopt.steering.tabulated import SteeringSegment, TabulatedSteering

__all__ = ["GravityTurn", "Kick", "SteeringSegment", "TabulatedSteering"]
