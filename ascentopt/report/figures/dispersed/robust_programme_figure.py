"""A programme for the days beside the optimum's: the pitch of both, and what both leave."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import ABOVE, GROUND, OPTIMUM, OTHERS, SOFT
from ascentopt.studies.robust.programme import RobustProgramme
from ascentopt.studies.robust.shift import PitchShift
from ascentopt.units import deg

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ROWS = 300


@checked
def robust_programme_figure(programme: RobustProgramme) -> Figure:
    """Draw a programme for the days beside the optimum's; nothing pops up.

    On the left the pitch of both through the air over time, and below it the shift with its knots.
    On the right, of the fresh flights by both programmes, the share that leaves no more than so
    much propellant: where the line of this programme lies to the right of the other it leaves more.
    Flights that fell are not drawn, and are told. A programme that was stopped before it was judged
    has no lines there.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10.5, 5.4), layout="constrained")
    panels = figure.subplot_mosaic([["pitch", "left"], ["shift", "left"]], height_ratios=(1.6, 1.0))
    _draw_pitch(panels["pitch"], panels["shift"], programme)
    _draw_left(panels["left"], programme)
    one = programme.ascent
    write_head(
        figure,
        f"{one.vehicle.name} to {one.mission.orbit} of {one.mission.body.name}: programme for the "
        f"{programme.against} of days",
    )
    write_foot(figure, _notes(programme))
    return figure


def _draw_pitch(pitch: Axes, shift: Axes, programme: RobustProgramme) -> None:
    track, (begin, end) = programme.ascent.trajectory, (programme.times[0], programme.times[-1])
    times = np.linspace(begin, end, _ROWS)
    own = PitchShift(programme.times, programme.shifts).at(times) / deg
    planned = np.interp(times, track.time, track.pitch) / deg
    stroke = OTHERS[0]
    pitch.plot(times, planned, color=OPTIMUM.color, lw=1.6, label="the optimum's")
    pitch.plot(times, planned + own, color=stroke.color, ls=stroke.dashes, lw=1.6, label="for days")
    pitch.set_ylabel("pitch, deg")
    pitch.tick_params(labelbottom=False)
    pitch.legend(fontsize=8, **ABOVE)
    knots = np.array(programme.shifts) / deg
    shift.plot(times, own, color=stroke.color, ls=stroke.dashes, lw=1.6)
    shift.plot(programme.times, knots, color=stroke.color, ls="", marker="o", ms=4.0)
    shift.axhline(0.0, color=GROUND, lw=0.8)
    shift.set(xlabel="time, s", ylabel="shift, deg")
    for axes in (pitch, shift):
        axes.grid(visible=True, lw=0.4, color=SOFT, alpha=0.4)
        axes.set_xlim(begin, end)


def _draw_left(axes: Axes, programme: RobustProgramme) -> None:
    sides = (
        ("the optimum's", programme.before, OPTIMUM.color, "-"),
        ("for days", programme.after, OTHERS[0].color, OTHERS[0].dashes),
    )
    for label, margins, color, dashes in sides:
        known = np.sort(margins[~np.isnan(margins)])
        if not len(known):
            continue
        shares = 100.0 * np.arange(1, len(known) + 1) / len(known)
        axes.step(known, shares, where="post", color=color, ls=dashes, lw=1.6,
                  label=f"{label}: mean {known.mean():.1f} kg")  # fmt: skip
    axes.set(xlabel="propellant left beyond the mission's reserve, kg",
             ylabel="fresh flights that leave no more, %", ylim=(0.0, 100.0))  # fmt: skip
    axes.grid(visible=True, lw=0.4, color=SOFT, alpha=0.4)
    if axes.lines:
        axes.legend(fontsize=8, **ABOVE)


def _notes(programme: RobustProgramme) -> list[str]:
    lines = [line.strip() for line in str(programme).splitlines()[2:-1]]
    fell = [int(np.isnan(one).sum()) for one in (programme.before, programme.after)]
    told = "Of the fresh flights {} by the optimum's programme and {} by this one fell."
    return ["; ".join(lines) + ".", *([told.format(*fell)] if any(fell) else [])]
