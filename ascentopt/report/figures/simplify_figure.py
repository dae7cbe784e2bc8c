"""Simpler programmes beside the optimum: what each knot is worth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.report.flown import first_shown
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import FLIGHT, OPTIMUM, OTHERS, PAPER, SOFT
from ascentopt.steering.pitch_table import Against
from ascentopt.studies.simplify.simpler import SimplerProgramme
from ascentopt.units import deg, in_places, km

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_KINDS = {
    Against.TIME: (1.0, "time since lift-off, s"),
    Against.ALTITUDE: (km, "altitude, km"),
}
"""Of what the knots are set against: size of the shown unit, and the label of the axis."""

_MARKERS = "os^Dv*"

_PLACES: tuple[dict[str, Any], ...] = (
    {"xytext": (4, 4), "ha": "left", "va": "bottom"},
    {"xytext": (-4, -4), "ha": "right", "va": "top"},
)
"""Of the numbers beside the points of the first and of the second curve."""


@checked
def simplify_figure(programmes: Sequence[SimplerProgramme], ascent: Ascent) -> Figure:
    """Draw penalty against number of knots, and the programmes over the optimum's; nothing pops up.

    Of a programme its knots are marked, and the pitch is drawn as it was flown. Programmes against
    time and against altitude get a panel each; the six with the fewest knots of each kind are drawn
    there; of several with as many knots the last. Flights are drawn up to their first coast of more
    than ten minutes.

    Raises:
        InputError: without any programme, or with one of another ascent.
    """
    from matplotlib.figure import Figure

    for one in programmes:
        used, penalty = one.propellant_used, one.penalty
        ascent.check_measures("simplify_figure", "a programme", used, penalty)

    programmes = list({(one.against, len(one.knots)): one for one in programmes}.values())
    kinds = [kind for kind in _KINDS if any(one.against == kind for one in programmes)]
    if not kinds:
        raise InputError(
            "simplify_figure: programmes is empty; there is nothing to draw. Give at least one."
        )
    figure = Figure(figsize=(4.2 + 5.0 * len(kinds), 5.2), layout="constrained")
    panels = figure.subplots(1, 1 + len(kinds), width_ratios=[1.0, *(1.35 for _ in kinds)])
    _draw_penalties(panels[0], programmes, kinds)
    for axes, kind in zip(panels[1:], kinds, strict=True):
        _draw_programmes(axes, [one for one in programmes if one.against == kind], ascent)
    write_head(
        figure,
        f"{ascent.vehicle.name} to {ascent.mission.orbit} of {ascent.mission.body.name}: "
        "pitch programmes of few knots",
    )
    write_foot(figure)
    return figure


def _draw_penalties(
    axes: Axes, programmes: Sequence[SimplerProgramme], kinds: list[Against]
) -> None:
    strokes = (OPTIMUM, OTHERS[0])
    for kind, stroke in zip(kinds, strokes, strict=False):
        pairs = sorted((len(one.knots), one.penalty) for one in programmes if one.against == kind)
        counts, costs = [count for count, _ in pairs], [cost for _, cost in pairs]
        axes.plot(counts, costs, "o", color=stroke.color, ls=stroke.dashes, ms=5,
                  label=f"against {_KINDS[kind][1].split(',')[0]}")  # fmt: skip
        for count, cost in pairs:
            axes.annotate(in_places(cost, 1), (count, cost), fontsize=8, textcoords="offset points",
                          **_PLACES[kinds.index(kind)])  # fmt: skip
    knots = sorted({len(one.knots) for one in programmes})
    axes.set_xticks(knots)
    axes.set_xlim(knots[0] - 0.6, knots[-1] + 0.6)
    axes.axhline(0.0, color=FLIGHT, lw=0.8)
    _set_costs(axes, [one.penalty for one in programmes])
    axes.set(xlabel="number of knots", ylabel="propellant beyond the least, kg")
    axes.grid(visible=True, lw=0.4, color=SOFT, alpha=0.4)
    if len(kinds) > 1:
        axes.legend(fontsize=8)


def _set_costs(axes: Axes, costs: list[float]) -> None:
    """A scale that shows tenths beside thousands: even to 1 kg, logarithmic beyond."""
    if max(costs) > 30.0 * max(min(costs), 1.0):
        axes.set_yscale("symlog", linthresh=1.0, linscale=0.4)
        ticks = [0.0, *(10.0**power for power in range(6) if 10.0**power < 3.0 * max(costs))]
        axes.set_yticks(ticks, [f"{tick:g}" for tick in ticks])
        axes.set_ylim(min(0.0, 1.3 * min(costs)), 3.0 * max(costs))
    else:
        axes.set_ylim(min(0.0, 1.2 * min(costs)), 1.2 * max(*costs, 0.1))


def _draw_pitch(axes: Axes, track: Trajectory, kind: Against, style: dict[str, Any]) -> None:
    """The pitch as flown, up to the first long coast."""
    shown = track.time <= first_shown(track, 0.0)
    against = track.time if kind is Against.TIME else track.altitude / km
    axes.plot(against[shown], track.pitch[shown] / deg, **style)


def _draw_programmes(axes: Axes, programmes: list[SimplerProgramme], ascent: Ascent) -> None:
    kind = programmes[0].against
    size, label = _KINDS[kind]
    wide = {"color": OPTIMUM.color, "lw": 3.4, "alpha": 0.4, "label": "least propellant"}
    _draw_pitch(axes, ascent.trajectory, kind, wide)
    chosen = sorted(programmes, key=lambda one: len(one.knots))
    for one, stroke, marker in zip(chosen, OTHERS, _MARKERS, strict=False):
        knots = np.array(one.knots)
        style: dict[str, Any] = {"color": stroke.color, "ls": stroke.dashes, "lw": stroke.width}
        name = f"{len(knots)} knots, {in_places(one.penalty, 1)} kg"
        _draw_pitch(axes, one.flight.trajectory, one.against, style)
        axes.plot(knots[:, 0] / size, knots[:, 1] / deg, marker, color=stroke.color, ms=6,
                  mfc=PAPER, mew=1.2, label=name)  # fmt: skip
    axes.set(xlabel=label, ylabel="pitch of the thrust above the local horizon, deg")
    axes.legend(fontsize=8)
    axes.grid(visible=True, lw=0.4, color=SOFT, alpha=0.4)
