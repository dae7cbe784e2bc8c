"""Vehicles and missions as text files."""

from __future__ import annotations

from ascentopt.descriptions.files import read, write

__all__ = ["read", "write"]
