"""Figures and the flight card; nothing in here is needed to compute a result.

Every function returns a matplotlib `Figure` of its own: nothing pops up, nothing stays open, and
`savefig` writes it as PNG, PDF or SVG. matplotlib is imported when the first one is drawn.
"""

from ascentopt.report.card.flight_card import flight_card
from ascentopt.report.figures.ascent_figure import ascent_figure
from ascentopt.report.figures.comparison_figure import comparison_figure
from ascentopt.report.figures.dispersed.dispersed_loads_figure import dispersed_loads_figure
from ascentopt.report.figures.dispersed.importance_figure import importance_figure
from ascentopt.report.figures.dispersed.insertion_figure import insertion_figure
from ascentopt.report.figures.dispersed.propellant_left_figure import propellant_left_figure
from ascentopt.report.figures.dispersed.robust_programme_figure import robust_programme_figure
from ascentopt.report.figures.history_figure import history_figure
from ascentopt.report.figures.losses_figure import losses_figure
from ascentopt.report.figures.penalty_map_figure import penalty_map_figure
from ascentopt.report.figures.simplify_figure import simplify_figure
from ascentopt.report.figures.sizing_figure import sizing_figure
from ascentopt.report.figures.sweeps.carpet_figure import carpet_figure
from ascentopt.report.figures.sweeps.sweep_contour_figure import sweep_contour_figure
from ascentopt.report.figures.sweeps.sweep_lines_figure import sweep_lines_figure
from ascentopt.report.figures.trajectory_figure import trajectory_figure
from ascentopt.report.flown import Flown

__all__ = [
    "Flown",
    "ascent_figure",
    "carpet_figure",
    "comparison_figure",
    "dispersed_loads_figure",
    "flight_card",
    "history_figure",
    "importance_figure",
    "insertion_figure",
    "losses_figure",
    "penalty_map_figure",
    "propellant_left_figure",
    "robust_programme_figure",
    "simplify_figure",
    "sizing_figure",
    "sweep_contour_figure",
    "sweep_lines_figure",
    "trajectory_figure",
]
