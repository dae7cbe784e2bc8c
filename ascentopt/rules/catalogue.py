"""The rules of thumb that are compared when nobody asks for others."""

from __future__ import annotations

from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.insertion.ways import Circularise, LinearTangentInsertion
from ascentopt.rules.laws.angle_at_altitude import AngleRule
from ascentopt.rules.laws.kick import KickRule
from ascentopt.rules.laws.pitch_rate import PitchRateRule
from ascentopt.rules.laws.rule import Rule


def rules() -> tuple[Rule, ...]:
    """For the dense air."""
    return KickRule(), AngleRule(), PitchRateRule()


def insertions() -> tuple[Insertion, ...]:
    """Into the orbit."""
    return Circularise(), LinearTangentInsertion()
