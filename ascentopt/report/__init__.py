"""Figures and documents made of results; nothing in here is needed to compute one."""

from ascentopt.report.ascent_figure import ascent_figure

__all__ = ["ascent_figure"]
