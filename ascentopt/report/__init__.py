"""Figures and the flight card; nothing in here is needed to compute a result.

Every function returns a matplotlib `Figure` of its own: nothing pops up, nothing stays open, and
`savefig` writes it as PNG, PDF or SVG. matplotlib is imported when the first one is drawn.
"""

from ascentopt.report.ascent_figure import ascent_figure
from ascentopt.report.flight_card import flight_card
from ascentopt.report.flown import Flown
from ascentopt.report.history_figure import history_figure
from ascentopt.report.trajectory_figure import trajectory_figure

__all__ = ["Flown", "ascent_figure", "flight_card", "history_figure", "trajectory_figure"]
