"""Invented vehicles on missions, under names: what rules and methods are measured on."""

from __future__ import annotations

from ascentopt.scenarios.catalogue import Scenario, scenarios

__all__ = ["Scenario", "scenarios"]
