"""The optimum beside the rules of thumb."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from ascentopt.arguments import checked
from ascentopt.flight.results.excess import Excess
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.report.figures.no_orbit import no_orbit_lines
from ascentopt.report.flown import Flown, first_shown
from ascentopt.report.page.bars import ROW, name_bars
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.labels import Name, name_lines
from ascentopt.report.page.palette import FLIGHT, GROUND, LIMIT, OPTIMUM, OTHERS, Stroke
from ascentopt.report.page.way import draw_levels
from ascentopt.studies.comparison.comparison import Comparison
from ascentopt.studies.comparison.outcome import RuleOutcome
from ascentopt.typing import Floats
from ascentopt.units import deg, in_places, km, kPa

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 11.0
"""Inches of the figure."""

_AFTER = 30.0
"""s of a long coast that are drawn."""

_QUIET = 0.004
"""Share of the greatest dynamic pressure below which its panel has nothing more to show."""

_HABIT = "#b9c6d6"

_SAMPLES = 200

_SAME = 4e-3
"""Share of a panel by which curves that coincide may differ on average: the width of a line."""

_LINE = 72.0 * 0.95 * WIDTH
"""Points of a line of words."""


@checked
def comparison_figure(comparison: Comparison) -> Figure:
    """Draw what the rules of thumb do and what they cost beside the optimum; nothing pops up.

    Curves: the optimum and the cheapest flight of each rule (the first six of them) that reaches
    the orbit, to the first coast of more than ten minutes. Bars: the penalty of every flight that
    reaches it. Those that do not are listed in words.
    """
    from matplotlib.figure import Figure

    reached = [one for one in comparison.outcomes if one.penalty is not None]
    failures = list(no_orbit_lines(comparison.outcomes, _LINE))
    heights = [6.6, ROW * len(reached) + 1.4, 0.165 * len(failures) + 0.15]
    figure = Figure(figsize=(WIDTH, sum(heights) + 0.6), layout="constrained")
    curves, bars, words = figure.subfigures(3, 1, squeeze=False, height_ratios=heights)[:, 0]
    panels = curves.subplot_mosaic([["path", "path"], ["pitch", "load"]])
    _draw_penalties(bars.add_subplot(), comparison, reached)
    words.text(0.012, 0.98, "\n".join(failures), ha="left", va="top", fontsize=8, color=GROUND,
               parse_math=False)  # fmt: skip
    best = comparison.ascent
    write_head(
        figure,
        f"{best.vehicle.name} to {best.mission.orbit} of {best.mission.body.name}: rules of thumb "
        "beside the least propellant",
    )
    write_foot(figure)
    _draw_curves([panels[name] for name in ("path", "pitch", "load")], comparison)
    return figure


class _Curve(NamedTuple):
    """A flight to draw, as far as it is drawn; `also` are the names of others that fly the same."""

    name: str
    stroke: Stroke
    track: Trajectory
    also: tuple[str, ...] = ()

    @property
    def shown(self) -> np.ndarray:
        """Mask of the samples that are drawn."""
        shown: np.ndarray = self.track.time <= first_shown(self.track, _AFTER)
        return shown

    @property
    def text(self) -> str:
        """For the legend."""
        others = [f"    and, on the same curve, {name}" for name in self.also]
        return "\n".join([self.name, *others])

def _curves(comparison: Comparison) -> list[_Curve]:
    """The optimum, then the cheapest flight of each rule; what cannot be told apart is one."""
    found = [_Curve("least propellant", OPTIMUM, comparison.ascent.trajectory)]
    cheapest: dict[str, RuleOutcome] = {}
    for one in comparison.outcomes:
        if one.flight is not None:
            cheapest.setdefault(one.rule, one)
    strokes = iter(OTHERS)
    for one in cheapest.values():
        if one.flight is None:
            continue
        track = one.flight.trajectory
        same = next((k for k, other in enumerate(found) if _coincide(other.track, track)), None)
        if same is not None:
            found[same] = found[same]._replace(also=(*found[same].also, one.name))
        elif (stroke := next(strokes, None)) is not None:
            found.append(_Curve(one.name, stroke, track))
    return found


def _span(ascent: Ascent, axes: Axes) -> tuple[Floats, Floats]:
    """Downrange in km of the optimum's samples, and which of them lie within the panel."""
    across = ascent.trajectory.downrange / km
    far = ascent.trajectory.time <= first_shown(ascent.trajectory, _AFTER)
    return across, np.asarray(far & (across <= axes.get_xlim()[1]))


def _columns(track: Trajectory, times: Floats) -> Floats:
    """(n, 4) downrange, altitude, pitch and dynamic pressure at some times."""
    columns = (track.downrange, track.altitude, track.pitch, track.dynamic_pressure)
    return np.array([np.interp(times, track.time, np.nan_to_num(one)) for one in columns]).T


def _coincide(one: Trajectory, other: Trajectory) -> bool:
    """Whether no panel tells two flights apart: to a line's width of their own range."""
    end = min(first_shown(one, 0.0), first_shown(other, 0.0))
    times = np.linspace(0.0, end, _SAMPLES)
    apart = max(first_shown(one, 0.0), first_shown(other, 0.0)) - end
    first, second = _columns(one, times), _columns(other, times)
    ranges = np.maximum(np.ptp(first, axis=0), 1e-9)
    off = float((np.abs(first - second).mean(axis=0) / ranges).max())
    return apart < _SAME * end and off < _SAME


def _draw_curves(panels: list[Axes], comparison: Comparison) -> None:
    path, pitch, load = panels
    curves = _curves(comparison)
    air = comparison.ascent.mission.body.atmosphere is not None
    for curve in reversed(curves):
        track, shown = curve.track, curve.shown
        style: dict[str, Any] = {
            "color": curve.stroke.color,
            "ls": curve.stroke.dashes,
            "lw": curve.stroke.width,
        }
        path.plot(track.downrange[shown] / km, track.altitude[shown] / km,
                  label=curve.text, **style)  # fmt: skip
        pitch.plot(track.time[shown], track.pitch[shown] / deg, **style)
        felt = track.dynamic_pressure / kPa if air else track.speed / 1e3
        load.plot(track.time[shown], felt[shown], **style)
    path.set(xlabel="downrange distance along the surface, km", ylabel="altitude, km")
    pitch.set(xlabel="time since lift-off, s", ylabel="pitch of the thrust, deg", xlim=(0.0, None))
    load.set(xlabel="time since lift-off, s")
    load.set_ylabel("dynamic pressure, kPa" if air else "inertial speed, km/s")
    top = 1.08 * max(float(c.track.altitude[c.shown].max()) for c in curves) / km
    path.set(xlim=(0.0, None), ylim=(0.0, top))
    handles, names = path.get_legend_handles_labels()
    path.legend(handles[::-1], names[::-1], fontsize=8, loc="lower left",
                bbox_to_anchor=(0.0, 1.0), ncols=2, frameon=False, handlelength=3.5)  # fmt: skip
    levels = draw_levels(path, Flown.of(comparison.ascent), *_span(comparison.ascent, path))
    limits = _draw_limit(load, comparison, curves) if air else []
    name_lines(path, levels)
    name_lines(load, limits)


def _draw_limit(axes: Axes, comparison: Comparison, curves: list[_Curve]) -> list[Name]:
    """Show the part of the flight with any dynamic pressure, and its limit, whose name is left."""
    peak = max(float(np.nanmax(curve.track.dynamic_pressure)) for curve in curves)
    ends = [
        float(c.track.time[c.shown & (c.track.dynamic_pressure >= _QUIET * peak)].max())
        for c in curves
    ]
    limit = comparison.ascent.mission.limits.dynamic_pressure
    top = peak / kPa
    names = []
    if limit is not None:
        top = max(top, limit / kPa)
        line = axes.axhline(limit / kPa, color=LIMIT, lw=1.1, ls="-.")
        names.append(Name(line, f"limit {limit / kPa:.4g} kPa"))
    axes.set(xlim=(0.0, 1.05 * max(ends)), ylim=(0.0, max(1.15 * top, 1e-3)))
    return names


def _draw_penalties(axes: Axes, comparison: Comparison, reached: list[RuleOutcome]) -> None:
    """Bars in kg, with the share of the optimum's margin above."""
    if not reached:
        axes.axis("off")
        axes.text(0.5, 0.5, "No rule of thumb reaches the orbit.", ha="center", fontsize=10)
        return
    penalties = np.array([one.penalty or 0.0 for one in reached])
    colors = [FLIGHT if one.tuned else _HABIT for one in reached]
    hatches = ["" if one.tuned else "//" for one in reached]
    axes.barh(range(len(reached)), penalties, height=0.6, color=colors, hatch=hatches,
              edgecolor=GROUND, lw=0.5)  # fmt: skip
    reach = max(float(penalties.max()), 1.0)
    axes.set_xlim(
        min(0.0, float(penalties.min())),
        (1.7 if any(one.broken for one in reached) else 1.5) * reach,
    )
    name_bars(axes, [one.name for one in reached])
    for row, one in enumerate(reached):
        text, color = _penalty_text(one)
        place = max(float(penalties[row]), 0.0) + 0.01 * reach
        axes.text(place, row, text, va="center", fontsize=8, color=color)
    axes.set_xlabel("propellant beyond the least, kg (plain: tuned; hatched: by habit)")
    margin = comparison.ascent.propellant_margin
    if margin > 0.0:
        one_per_cent = margin / 100.0
        share = axes.secondary_xaxis(
            "top",
            functions=(
                lambda kg: np.asarray(kg, dtype=float) / one_per_cent,
                lambda part: np.asarray(part, dtype=float) * one_per_cent,
            ),
        )
        share.set_xlabel(f"share of the {margin:.0f} kg that the optimum leaves, %")


def _penalty_text(one: RuleOutcome) -> tuple[str, str]:
    text = f"{in_places(one.penalty or 0.0, 1)} kg"
    if one.penalty_of_margin is not None:
        text += f", {in_places(100.0 * one.penalty_of_margin, 1)} % of the margin"
    if not one.broken:
        return text, GROUND
    broken = "\n".join(f"beyond: {_excess(excess)}" for excess in one.broken)
    return f"{text}\n{broken}", LIMIT


def _excess(excess: Excess) -> str:
    """A heating flux without powers of ten; the rest as it says itself."""
    if excess.unit != "W/m^2":
        return str(excess)
    peak, limit = (f"{value / 1e3:.3g} kW/m2" for value in (excess.peak, excess.limit))
    return f"{excess.name} {peak}, limit {limit}"
