"""Speeds that are missing, in words."""

from __future__ import annotations

SMALL = 1.0
"""m/s below which a decimal is not enough: what is missing must not read as nothing."""


def in_words(speed: float) -> str:
    """A speed in m/s with its unit: "12.3 m/s", "0.057 m/s"."""
    return f"{speed:.1f} m/s" if speed >= SMALL else f"{speed:.2g} m/s"
