"""Descriptions of vehicles: engines, stages, boosters, fairing, aerodynamics."""

from __future__ import annotations

from ascentopt.rocket.aerodynamics import Aerodynamics, DragCurve
from ascentopt.rocket.engine import Engine, Propulsion, SolidMotor
from ascentopt.rocket.performance import Burn, burns
from ascentopt.rocket.stage import BoosterGroup, Fairing, Stage
from ascentopt.rocket.vehicle import Vehicle

__all__ = [
    "Aerodynamics",
    "BoosterGroup",
    "Burn",
    "DragCurve",
    "Engine",
    "Fairing",
    "Propulsion",
    "SolidMotor",
    "Stage",
    "Vehicle",
    "burns",
]
