"""Costs of ascents on record, so that a change which makes one dearer does not go unnoticed.

A `Baseline` is one text file for many cases. `check` holds a new ascent against its case and says
what drifted: which inputs changed, what their partials predict, what is left unexplained.
"""

from __future__ import annotations

from ascentopt.baselines.baseline import Baseline, update_file
from ascentopt.baselines.case import BaselineCase
from ascentopt.baselines.check import BaselineCheck
from ascentopt.baselines.explanation import InputChange
from ascentopt.baselines.tolerance import CostTolerance

__all__ = [
    "Baseline",
    "BaselineCase",
    "BaselineCheck",
    "CostTolerance",
    "InputChange",
    "update_file",
]
