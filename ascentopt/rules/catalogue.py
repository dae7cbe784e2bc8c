"""The rules of thumb that are compared when nobody asks for others."""

from __future__ import annotations

from ascentopt.rules.angle_at_altitude import AngleRule
from ascentopt.rules.insertion import Circularise, Insertion, LinearTangentInsertion
from ascentopt.rules.kick import KickRule
from ascentopt.rules.pitch_rate import PitchRateRule
from ascentopt.rules.rule import Rule


def rules() -> tuple[Rule, ...]:
    """For the dense air."""
    return KickRule(), AngleRule(), PitchRateRule()


def insertions() -> tuple[Insertion, ...]:
    """Into the orbit."""
    return Circularise(), LinearTangentInsertion()
